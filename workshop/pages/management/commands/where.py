from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from workshop.pages.where import NoSuchPage, where


class Command(BaseCommand):
    help = "Where the view, template, style, script and test of a page lie: manage.py where /m/card/1/"

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("address")

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            for what, place in where(options["address"]):
                if place:
                    self.stdout.write(f"{what:9}{place}")
        except NoSuchPage as error:
            raise CommandError(str(error)) from None
