"""One file that holds everything, taken from a live system, the same from either database, and its way back.

A database that waits for migrations is read and written as it stands, so that an upgrade can be backed up, and tried on the copy, first.
"""

import fcntl
import hashlib
import json
import os
import shutil
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
from django.core.management import call_command
from django.core.management.color import no_style
from django.db import connection, connections, models, transaction
from django.db.migrations.executor import MigrationExecutor

from workshop import clock
from workshop.files import actions as files_actions
from workshop.files import queries as files
from workshop.upkeep import verify

KEPT = ("workshop.", "allauth.")  # sessions and content types are made anew
CHUNK = 500
MADE_BY_ITSELF = ("history.Head", "files.Blob", "links.Link")  # rows that an empty place may have: the backup's take their stead
ANOTHER_VERSION = (
    "This backup was made by another version of Hardstand. Restore it into a place without a database, with that version or a newer one."
)


class NotRestored(Exception):
    """Why a backup was not put back."""


def waiting() -> list[Any]:
    """The migrations that this database still waits for."""
    executor = MigrationExecutor(connection)
    return executor.migration_plan(executor.loader.graph.leaf_nodes())


def ours() -> list[str]:
    """The labels of the rooms and of the login's packages."""
    return [config.label for config in apps.get_app_configs() if config.name.startswith(KEPT)]


def kept_models() -> list[type[models.Model]]:
    """Every table of ours as this database has it, those that others point at first."""
    loader = MigrationExecutor(connection).loader
    applied_here = [node for node in loader.applied_migrations if node in loader.graph.nodes]
    registry = loader.project_state(applied_here).apps if waiting() else apps
    found: list[type[models.Model]] = [
        m for label in ours() if label in registry.app_configs for m in registry.get_app_config(label).get_models()
    ]
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
    with tempfile.TemporaryDirectory(dir=settings.DATA_DIR, prefix="snapshot-") as folder:
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


@contextmanager
def one_at_a_time() -> Iterator[None]:
    """Waits for another backup of this place, and takes away what a killed one left."""
    with (settings.DATA_DIR / "backup.lock").open("w") as turn:
        fcntl.flock(turn, fcntl.LOCK_EX)
        for left in [*settings.DATA_DIR.glob("snapshot-*"), *settings.DATA_DIR.glob("proof-*")]:
            shutil.rmtree(left, ignore_errors=True)
        yield


def write_backup(target: Path) -> dict[str, Any]:
    """Writes the backup beside its name, proves it, and only then moves it there: an older one is kept until then. Returns the manifest.

    Raises NotRestored when it does not come back whole.
    """
    part = target.with_name(target.name + ".part")
    with one_at_a_time():
        part.unlink(missing_ok=True)
        part.touch(mode=0o600)  # it holds password hashes and every customer
        manifest = _write_part(part)
        prove(part)
        part.replace(target)
        _sync(target.parent)
    return manifest


def _write_part(part: Path) -> dict[str, Any]:
    manifest: dict[str, Any] = {"made_at": clock.now().isoformat(), "migrations": applied(), "tables": {}, "files": 0}
    with snapshot() as alias, zipfile.ZipFile(part, "w", zipfile.ZIP_DEFLATED, compresslevel=6) as archive:
        tables = {model._meta.label: model for model in kept_models()}
        for label, model in tables.items():
            manifest["tables"][label] = _write_table(archive, model, alias)
        blobs = tables["files.Blob"]._base_manager.using(alias).order_by("pk")
        for sha in blobs.values_list("sha256", flat=True).iterator(chunk_size=CHUNK):
            archive.writestr(zipfile.ZipInfo(f"files/{sha}"), files.read(sha))
            manifest["files"] += 1
        manifest["head"] = tables["history.Head"]._base_manager.using(alias).filter(pk=1).values("seq", "hash").get()
        archive.writestr("manifest.json", json.dumps(manifest, indent=1))
    _sync(part)
    return manifest


def _sync(path: Path) -> None:
    handle = os.open(path, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


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
    here, labels = MigrationExecutor(connection).loader.applied_migrations, set(ours())
    return sorted(f"{app}.{name}" for app, name in here if app in labels)


def prove(target: Path) -> None:
    """Restores the backup into an empty place of its own and verifies it there. Raises NotRestored with what went wrong."""
    with tempfile.TemporaryDirectory(dir=settings.DATA_DIR, prefix="proof-") as folder:
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
    """Puts a backup back into an empty place, all of it or nothing. Returns the manifest. Raises NotRestored with the reason.

    One of an older version goes into a database that stands where it stood, in one transaction, and is brought up to this version then.
    """
    with zipfile.ZipFile(source) as archive:
        manifest: dict[str, Any] = json.loads(archive.read("manifest.json"))
        _make_room(set(manifest["migrations"]))
        for name in archive.namelist():
            if name.startswith("files/"):
                _restore_file(archive, name)
        older = bool(waiting())
        with transaction.atomic():
            tables = {model._meta.label: model for model in kept_models()}
            for label in MADE_BY_ITSELF:
                tables[label]._base_manager.all().delete()
            for label, model in tables.items():
                _restore_table(archive, model, manifest["tables"][label])
            _continue_sequences()
            if not older:
                _require_whole()
    if older:
        call_command("migrate", verbosity=0)
        _require_whole()
    return manifest


def _require_whole() -> None:
    if found := list(verify.problems()):
        raise NotRestored("\n".join(found))


def _make_room(wanted: set[str]) -> None:
    """Brings an empty place to where the backup stood. One that was cut off on the way is brought on."""
    if not is_empty():
        raise NotRestored("There is something here already. A backup goes into an empty place: set HARDSTAND_DATA to a new folder.")
    executor, labels = MigrationExecutor(connection), set(ours())
    known = {f"{app}.{name}": (app, name) for app, name in executor.loader.graph.nodes if app in labels}
    if not set(applied()) <= wanted <= known.keys():
        raise NotRestored(ANOTHER_VERSION)
    if wanted == known.keys():
        call_command("migrate", verbosity=0)
        return
    nodes = {known[name] for name in wanted}
    children = executor.loader.graph.node_map
    executor.migrate([node for node in sorted(nodes) if not any(c.key in nodes and c.key[0] == node[0] for c in children[node].children)])


def is_empty() -> bool:
    """Whether nobody can sign in here and nothing was ever recorded."""
    here = set(connection.introspection.table_names())
    with connection.cursor() as cursor:
        for table in {"history_event", "staff_user"} & here:
            cursor.execute(f"SELECT 1 FROM {table} LIMIT 1")  # noqa: S608  one of the two names above
            if cursor.fetchone():
                return False
    return True


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
