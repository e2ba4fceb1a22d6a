from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from workshop.history.actions import Actor
from workshop.vehicles import actions, queries
from workshop.vehicles.forms import read_file


class Command(BaseCommand):
    help = "Takes customers and vehicles in from a CSV file, all of it or nothing. The page /vehicles/import/ prints its columns."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", type=Path)
        parser.add_argument("--check", action="store_true", help="only look through it")

    def handle(self, *args: Any, **told: Any) -> None:
        rows, faults = read_file(told["file"].read_bytes())
        faults = faults or queries.OnFile(rows).faults()
        if not faults and not told["check"]:
            done = actions.take_in(Actor.system("import_customers"), rows, told["file"].name)
            faults = list(done.faults)
        if faults:
            raise CommandError("\n".join([*map(str, faults), "Nothing was taken in."]))
        if told["check"]:
            self.stdout.write(f"{len(rows)} rows, nothing wrong. Nothing was taken in.")
        else:
            self.stdout.write(f"Taken in: {done.customers} customers and {done.vehicles} vehicles. Known already: {done.known} rows.")
