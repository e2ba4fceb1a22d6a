import zipfile
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from workshop.upkeep import backup


class Command(BaseCommand):
    help = "Puts a backup back into an empty place, all of it or nothing."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", type=Path)

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            manifest = backup.restore(options["file"])
        except (backup.NotRestored, zipfile.BadZipFile, OSError, KeyError) as trouble:
            raise CommandError(f"Nothing was restored. {trouble}") from trouble
        self.stdout.write(
            f"Restored what was backed up at {manifest['made_at']}: verified, history ends at line {manifest['head']['seq']}."
        )
