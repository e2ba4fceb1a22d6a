"""`manage.py export_books --from D --to D --out FOLDER`"""

from datetime import date
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from workshop.bookkeeping.actions import Refused, export_books
from workshop.bookkeeping.queries import in_line, preview
from workshop.history.actions import Actor


class Command(BaseCommand):
    help = "Writes one batch of what no batch has yet, then lays the files of every batch that touches the span into a folder."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--from", dest="from_on", type=date.fromisoformat, required=True, help="first day, like 2026-11-01")
        parser.add_argument("--to", dest="to_on", type=date.fromisoformat, required=True, help="last day, counted in")
        parser.add_argument(
            "--out", type=Path, help="the folder; it is made when it is not there. Without it: a preview, nothing is written"
        )

    def handle(self, *args: Any, from_on: date, to_on: date, out: Path | None, **options: Any) -> None:
        try:
            paths = export_books(Actor.system("export_books"), from_on, to_on, out) if out else []
        except Refused as refusal:
            raise CommandError(str(refusal)) from None
        self.stdout.write("\n".join(map(str, paths)) if out else in_line(preview(from_on, to_on)))
