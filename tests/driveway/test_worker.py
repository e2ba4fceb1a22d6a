"""What is served for the phone itself: driveway:worker, driveway:manifest, driveway:offline."""

import gzip
import struct

from django.contrib.staticfiles import finders
from django.test import Client

from workshop.driveway import queries


def test_the_worker_minds_m_and_nothing_else(client: Client, db: None) -> None:
    answer = client.get("/m/sw.js")
    assert answer["Content-Type"] == "text/javascript; charset=utf-8"
    assert answer["Service-Worker-Allowed"] == "/m/"
    assert answer["Cache-Control"] == "no-cache"
    text = answer.content.decode()
    assert text.startswith('const HARDSTAND = {"build": "')
    assert all(f'"/static/{name}"' in text for name in queries.SHELL)


def test_the_manifest_has_icons_of_the_size_it_says(client: Client, db: None) -> None:
    said = client.get("/m/manifest.webmanifest")
    assert said["Content-Type"] == "application/manifest+json"
    assert (said.json()["scope"], said.json()["start_url"]) == ("/m/", "/m/")
    for icon in said.json()["icons"]:
        path = finders.find(icon["src"].removeprefix("/static/"))
        with open(path, "rb") as file:
            head = file.read(24)
        # PNG, third edition, 5.2 and 11.2.1: signature, then IHDR with width and height
        assert head[:8] == b"\x89PNG\r\n\x1a\n"
        assert "x".join(map(str, struct.unpack(">II", head[16:24]))) == icon["sizes"]


def test_the_page_for_what_is_not_kept_names_nobody(client: Client, as_mechanic: Client) -> None:
    text = as_mechanic.get("/m/offline/").content.decode()
    assert "Not on this phone" in text
    assert "hardstand-user" not in text
    assert client.get("/m/offline/").status_code == 200


def test_own_script_is_small(client: Client, db: None) -> None:
    """At most 8 kB gz for all of it, each file by itself as it travels."""
    sizes = {"worker": len(gzip.compress(client.get("/m/sw.js").content, 9))}
    for name in ("who", "outbox", "page"):
        with open(finders.find(f"driveway/{name}.js"), "rb") as file:
            sizes[name] = len(gzip.compress(file.read(), 9))
    assert sum(sizes.values()) <= 8 * 1024, sizes


def test_the_shell_is_small(as_mechanic: Client) -> None:
    """At most 40 kB gz: all that is kept to show a sheet, the worker and the run sheet itself."""
    size = sum(len(gzip.compress(as_mechanic.get(url).content, 9)) for url in ("/m/sw.js", "/m/", "/m/offline/"))
    for name in queries.SHELL:
        with open(finders.find(name), "rb") as file:
            size += len(gzip.compress(file.read(), 9))
    assert size <= 40 * 1024, size
