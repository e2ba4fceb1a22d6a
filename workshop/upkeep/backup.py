"""One file that holds everything, taken from a live system, the same from either database, and its way back."""

import hashlib
import json
import os
import subprocess
import sys
import tempfile
import zipfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from django.apps import apps
from django.conf import settings
from django.core.management.color import no_style
from django.db import connection, connections, models, transaction
from django.db.migrations.recorder import MigrationRecorder

from workshop import clock
from workshop.files import actions as files_actions
from workshop.files import queries as files
from workshop.files.models import Blob
from workshop.history.models import Event, Head
from workshop.staff.models import User
from workshop.upkeep import verify

KEPT = ("workshop.", "allauth.")  # sessions and content types are made anew
CHUNK = 500


class NotRestored(Exception):
    """Why a backup was not put back."""


def kept_models() -> list[type[models.Model]]:
    """Every table of ours, those that others point at first."""
    found = [m for config in apps.get_app_configs() if config.name.startswith(KEPT) for m in config.get_models()]
    ordered: list[type[models.Model]] = []

    def add(model: type[models.Model]) -> None:
        if model in ordered:
            return
        for field in model._meta.concrete_fields:
            target = field.related_model
            if target in found and target is not model:
                add(target)
        ordered.append(model)

    for model in found:
        add(model)
    return ordered


@contextmanager
def snapshot() -> Iterator[str]:
    """The alias of a database that stands still while it is read; writers go on."""
    if connection.vendor != "sqlite":
        with transaction.atomic():
            with connection.cursor() as cursor:
                cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ READ ONLY")
            yield "default"
        return
    with tempfile.TemporaryDirectory(dir=settings.DATA_DIR) as folder:
        copy = Path(folder) / "copy.sqlite3"
        with connection.cursor() as cursor:
            cursor.execute("VACUUM INTO %s", [str(copy)])
        connections.databases["snapshot"] = {**connection.settings_dict, "NAME": str(copy)}
        try:
            yield "snapshot"
        finally:
            connections["snapshot"].close()
            del connections.databases["snapshot"]
            del connections["snapshot"]


def rows(model: type[models.Model], alias: str) -> Iterator[list[str | None]]:
    """A table's rows in the order of their key, every value as Django writes it in text."""
    fields = model._meta.concrete_fields
    for thing in model._base_manager.using(alias).order_by("pk").iterator(chunk_size=CHUNK):
        yield [None if f.value_from_object(thing) is None else _text(f, thing) for f in fields]


def _text(field: Any, thing: models.Model) -> str:
    value = field.value_from_object(thing)
    return json.dumps(value, sort_keys=True) if isinstance(field, models.JSONField) else field.value_to_string(thing)


def write_backup(target: Path) -> dict[str, Any]:
    """Writes the backup beside its name, proves it, and only then moves it there: an older one is kept until then. Returns the manifest.

    Raises NotRestored when it does not come back whole.
    """
    part = target.with_name(target.name + ".part")
    manifest: dict[str, Any] = {"made_at": clock.now().isoformat(), "migrations": applied(), "tables": {}, "files": 0}
    part.unlink(missing_ok=True)
    part.touch(mode=0o600)  # it holds password hashes and every customer
    with snapshot() as alias, zipfile.ZipFile(part, "w", zipfile.ZIP_DEFLATED, compresslevel=6) as archive:
        for model in kept_models():
            manifest["tables"][model._meta.label] = _write_table(archive, model, alias)
        for sha in Blob.objects.using(alias).order_by("pk").values_list("sha256", flat=True).iterator(chunk_size=CHUNK):
            archive.writestr(zipfile.ZipInfo(f"files/{sha}"), files.read(sha))
            manifest["files"] += 1
        head = Head.objects.using(alias).get(pk=1)
        manifest["head"] = {"seq": head.seq, "hash": head.hash}
        archive.writestr("manifest.json", json.dumps(manifest, indent=1))
    with part.open("rb+") as handle:
        os.fsync(handle.fileno())
    prove(part)
    part.replace(target)
    return manifest


def _write_table(archive: zipfile.ZipFile, model: type[models.Model], alias: str) -> dict[str, Any]:
    digest, count = hashlib.sha256(), 0
    with archive.open(f"tables/{model._meta.label}.jsonl", "w", force_zip64=True) as out:
        for row in rows(model, alias):
            line = (json.dumps(row, ensure_ascii=False) + "\n").encode()
            digest.update(line)
            out.write(line)
            count += 1
    return {"rows": count, "sha256": digest.hexdigest()}


def applied() -> list[str]:
    """The migrations of ours that this database stands at."""
    ours = {config.label for config in apps.get_app_configs() if config.name.startswith(KEPT)}
    return sorted(f"{app}.{name}" for app, name in MigrationRecorder(connection).applied_migrations() if app in ours)


def prove(target: Path) -> None:
    """Restores the backup into an empty place of its own and verifies it there. Raises NotRestored with what went wrong."""
    with tempfile.TemporaryDirectory() as folder:
        surroundings = {
            **os.environ,
            "HARDSTAND_DATA": folder,
            "DATABASE_URL": "",
            "HARDSTAND_DEMO": "",
            "HARDSTAND_SECRET_KEY": settings.SECRET_KEY,
        }
        surroundings |= {
            "HARDSTAND_HOSTS": "localhost",
            "HARDSTAND_URL": "https://localhost",
            "DJANGO_SETTINGS_MODULE": "workshop.settings",
        }
        done = subprocess.run(  # noqa: S603  our own command
            [sys.executable, "-m", "django", "restore", str(target.resolve())],
            env=surroundings, cwd=settings.BASE_DIR, capture_output=True, text=True, check=False,
        )  # fmt: skip
        if done.returncode:
            raise NotRestored((done.stderr or done.stdout).strip()[-2000:])


def restore(source: Path) -> dict[str, Any]:
    """Puts a backup back into an empty place, all of it or nothing. Returns the manifest. Raises NotRestored with the reason."""
    if Event.objects.exists() or User.objects.exists():
        raise NotRestored("There is something here already. A backup goes into an empty place: set HARDSTAND_DATA to a new folder.")
    with zipfile.ZipFile(source) as archive:
        manifest: dict[str, Any] = json.loads(archive.read("manifest.json"))
        if manifest["migrations"] != applied():
            raise NotRestored("This backup was made by another version of Hardstand. Restore it with that version, then upgrade.")
        for name in archive.namelist():
            if name.startswith("files/"):
                _restore_file(archive, name)
        with transaction.atomic():
            Head.objects.all().delete()
            Blob.objects.all().delete()
            for model in kept_models():
                _restore_table(archive, model, manifest["tables"][model._meta.label])
            _continue_sequences()
            if found := list(verify.problems()):
                raise NotRestored("\n".join(found))
    return manifest


def _restore_file(archive: zipfile.ZipFile, name: str) -> None:
    data = archive.read(name)
    if hashlib.sha256(data).hexdigest() != name.removeprefix("files/"):
        raise NotRestored(f"{name} was damaged in the backup.")
    files_actions.store(data, "application/octet-stream")


def _restore_table(archive: zipfile.ZipFile, model: type[models.Model], expected: dict[str, Any]) -> None:
    fields, digest, batch = model._meta.concrete_fields, hashlib.sha256(), []
    with archive.open(f"tables/{model._meta.label}.jsonl") as lines:
        for line in lines:
            digest.update(line)
            values = zip(fields, json.loads(line), strict=True)
            batch.append(model(**{f.attname: None if v is None else _value(f, v) for f, v in values}))
            if len(batch) == CHUNK:
                model._base_manager.bulk_create(batch)
                batch = []
    model._base_manager.bulk_create(batch)
    if digest.hexdigest() != expected["sha256"]:
        raise NotRestored(f"The table {model._meta.label} was damaged in the backup.")


def _value(field: Any, text: str) -> Any:
    if isinstance(field, models.JSONField):
        return json.loads(text)
    target = field.target_field if field.is_relation else field
    return target.to_python(text)


def _continue_sequences() -> None:
    with connection.cursor() as cursor:
        for sql in connection.ops.sequence_reset_sql(no_style(), kept_models()):
            cursor.execute(sql)
