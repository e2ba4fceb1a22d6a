"""/healthz: for whoever watches the server, without name, TLS, login or cookie."""

from pathlib import Path

import pytest
from django.db import OperationalError
from django.test import Client, override_settings

from workshop.upkeep import health


@pytest.mark.django_db
@override_settings(ALLOWED_HOSTS=["jobs.example"], SECURE_SSL_REDIRECT=True)
@pytest.mark.parametrize("host", ["127.0.0.1:8000", "jobs.example", "evil.example", "not a host!"])
def test_a_server_that_can_work_says_ok_to_anybody_who_asks(host: str) -> None:
    answer = Client(headers={"host": host}).get("/healthz")
    assert (answer.status_code, answer.content, answer.headers["Content-Type"]) == (200, b"ok", "text/plain; charset=utf-8")
    assert not answer.cookies
    assert set(answer.headers) <= {"Content-Type", "Content-Length", "Cache-Control"}
    assert Client(headers={"host": host}).head("/healthz").status_code == 200


@pytest.mark.django_db
def test_it_reads_nothing_else_and_only_its_own_address() -> None:
    assert Client().post("/healthz").status_code == 405
    assert Client().get("/healthz/").status_code == 404
    assert Client().get("/m/healthz").status_code == 404


@pytest.mark.django_db
def test_a_database_that_does_not_answer_is_a_503(monkeypatch: pytest.MonkeyPatch) -> None:
    def broken() -> None:
        raise OperationalError("no answer from 10.0.0.7, version 15.2")

    monkeypatch.setattr(health.connection, "cursor", broken)
    answer = Client().get("/healthz")
    assert (answer.status_code, answer.content) == (503, b"the database does not answer")


@pytest.mark.django_db
def test_files_that_cannot_be_written_are_a_503(tmp_path: Path, settings: object) -> None:
    (tmp_path / "no-folder").write_text("x")
    settings.FILES_ROOT = tmp_path / "no-folder"  # type: ignore[attr-defined]
    answer = Client().get("/healthz")
    assert (answer.status_code, answer.content) == (503, b"the files cannot be written")


@pytest.mark.django_db
def test_it_leaves_no_file_behind(settings: object) -> None:
    Client().get("/healthz")
    assert list(Path(settings.FILES_ROOT).rglob("*")) == []  # type: ignore[attr-defined]
