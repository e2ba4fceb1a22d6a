from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from workshop.upkeep import backup


class Command(BaseCommand):
    help = "Writes everything into one file while the business goes on, and proves it by restoring it into an empty place."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", type=Path)

    def handle(self, *args: Any, **options: Any) -> None:
        target: Path = options["file"]
        try:
            manifest = backup.write_backup(target)
        except backup.NotRestored as trouble:
            raise CommandError(f"{target} was not written: what was backed up does not restore. {trouble}") from trouble
        rows = sum(table["rows"] for table in manifest["tables"].values())
        self.stdout.write(f"{target}: {rows} rows, {manifest['files']} files. Restored into an empty place and verified there.")
