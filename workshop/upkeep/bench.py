"""Counts: queries of every page at three sizes, bytes of the customer's page, papers against the bare renderer, CPU of a cold start."""

import gzip
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from typing import Any

from django.conf import settings
from django.db import connection, transaction
from django.test import Client
from django.test.utils import CaptureQueriesContext, override_settings
from django.urls import NoReverseMatch, URLPattern, URLResolver, get_resolver, reverse

from workshop.invoices import actions as invoices
from workshop.pages import paper
from workshop.staff.models import User
from workshop.upkeep.stock import Stock, fill

SIZES = (1, 50, 500)
ROUNDS = 7
# What has no page to count: files, buttons, and pages of another moment.
LEFT_OUT = {
    "quotes:paper": "exists after the answer",
    "quotes:receipt": "exists after the answer",
    "bookkeeping:batch": "exists after a batch was written",
    "bookkeeping:file": "exists after a batch was written",
}


def pages() -> Iterator[tuple[str, URLPattern]]:
    """Every page of ours: name and pattern."""

    def walk(resolver: URLResolver, namespace: str) -> Iterator[tuple[str, URLPattern]]:
        for entry in resolver.url_patterns:
            if isinstance(entry, URLResolver):
                yield from walk(entry, entry.namespace or namespace)
            elif namespace and entry.name:
                yield f"{namespace}:{entry.name}", entry

    yield from walk(get_resolver(), "")


def address(name: str, pattern: URLPattern, stock: Stock) -> str:
    """Where that page is for this stock. Raises NoReverseMatch when the stock has nothing for it."""
    package = name.split(":", maxsplit=1)[0]
    uids = {"inspections": stock.finding.uid, "jobs": stock.line.uid, "invoices": stock.document.uid, "photos": stock.photo.uid}
    uids["quotes"] = stock.photo.uid if name == "quotes:picture" else stock.version.uid
    whose = {"joint/<": stock.joint_pk, "vehicles/<": stock.card.vehicle_id, "customers/<": stock.document.payer_id}
    pk = next((pk for route, pk in whose.items() if route in str(pattern.pattern)), stock.card.pk)
    values = {"pk": pk, "uid": uids.get(package), "token": stock.token, "size": "small"}
    return reverse(name, kwargs={key: values.get(key) for key in pattern.pattern.converters})


def queries(stock: Stock, client: Client) -> dict[str, int]:
    """Queries of every page that answers a GET with 200."""
    counted = {}
    for name, pattern in pages():
        if name in LEFT_OUT:
            continue
        try:
            where = address(name, pattern, stock)
        except NoReverseMatch:
            continue
        with CaptureQueriesContext(
            connection,
        ) as captured:
            answer = client.get(where, {"desk": ""} if name == "today:desk" else None)
        if answer.status_code == 200:
            counted[name] = len(captured)
    return counted


def at_every_size() -> dict[str, Any]:
    """{"queries": {page: {"1": n, "50": n, "500": n}}, "customer_page_bytes": n}, each size in a transaction that is rolled back."""
    found: dict[str, dict[str, int]] = {}
    weight = 0
    for size in SIZES:
        with transaction.atomic():
            user = User.objects.create_user("bench", role=User.Role.OWNER)
            client = Client(raise_request_exception=False, headers={"host": settings.ALLOWED_HOSTS[0]})
            client.force_login(user)
            stock = fill(size)
            for name, count in queries(stock, client).items():
                found.setdefault(name, {})[str(size)] = count
            if size == 1:
                weight = len(gzip.compress(client.get(reverse("quotes:go_ahead", args=[stock.token])).content, 9))
            transaction.set_rollback(True)
    # A page that was there at one size only met a row of its own by chance.
    whole = {name: counts for name, counts in sorted(found.items()) if len(counts) == len(SIZES)}
    return {"queries": whole, "customer_page_bytes_gz": weight}


def paper_ratio() -> dict[str, Any]:
    """Our invoice paper against the bare renderer on the same HTML, medians of interleaved rounds in one run."""
    from weasyprint import HTML

    with transaction.atomic():
        stock = fill(12)
        text = invoices.paper_html(stock.document)
        transaction.set_rollback(True)
    ours, bare = [], []
    for _ in range(ROUNDS):
        bare.append(_cpu(lambda: HTML(string=text).write_pdf(pdf_variant="pdf/a-3b", pdf_tags=True)))
        ours.append(_cpu(lambda: paper.draw(text)))
    return {"pdf_ratio": round(statistics.median(ours) / statistics.median(bare), 3)}


def _cpu(work: Callable[[], object]) -> float:
    begun = time.process_time()
    work()
    return time.process_time() - begun


COLD = """
import io, resource, sys
from workshop.wsgi import application
environ = {"REQUEST_METHOD": "GET", "PATH_INFO": "/m/offline/", "QUERY_STRING": "", "SERVER_NAME": "localhost", "SERVER_PORT": "443",
    "wsgi.input": io.BytesIO(), "wsgi.errors": sys.stderr, "wsgi.url_scheme": "https", "HTTP_HOST": "localhost", "REMOTE_ADDR": "127.0.0.1"}
answered = []
body = b"".join(application(environ, lambda status, headers: answered.append(status)))
assert answered == ["200 OK"], answered
used = resource.getrusage(resource.RUSAGE_SELF)
print(round(used.ru_utime + used.ru_stime, 3), "weasyprint" in sys.modules)
"""


def cold_start() -> dict[str, Any]:
    """CPU seconds of a new process up to its first page (the least of three), and whether it loaded the paper renderer."""
    found = [subprocess.run([sys.executable, "-c", COLD], capture_output=True, text=True, check=True).stdout.split() for _ in range(3)]  # noqa: S603
    return {"cold_cpu_seconds": min(float(cpu) for cpu, _ in found), "cold_loads_weasyprint": found[0][1] == "True"}


def run() -> dict[str, Any]:
    """All of it, on a database of its own that is thrown away."""
    name = connection.creation.create_test_db(verbosity=0, autoclobber=True)
    try:
        with (
            tempfile.TemporaryDirectory() as folder,
            override_settings(FILES_ROOT=folder),
        ):
            return {**at_every_size(), **paper_ratio(), **cold_start()}
    finally:
        connection.creation.destroy_test_db(name, verbosity=0)
