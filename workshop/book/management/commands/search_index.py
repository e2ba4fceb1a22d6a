"""Bring the index of the search box up to date, or make it anew."""

from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from workshop.book import actions
from workshop.book.models import Mark, SearchWord


class Command(BaseCommand):
    """search_index [--rebuild]"""

    help = "Brings the index of the search box up to date with history; --rebuild makes all of it anew."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--rebuild", action="store_true", help="make the whole index anew from what is there now")

    def handle(self, *args: Any, **options: Any) -> None:
        if options["rebuild"]:
            actions.rebuild()
        seen = -1
        while not actions.catch_up():
            before, seen = seen, Mark.objects.values_list("seq", flat=True).first() or 0
            if seen == before:
                raise CommandError("Somebody else is writing. Run it again in a minute.")
        self.stdout.write(f"The index is up to date: {SearchWord.objects.count():,} words.")
