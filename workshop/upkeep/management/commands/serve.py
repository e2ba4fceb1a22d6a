import os
from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.db import connections

from workshop.upkeep import backup, serve


class Command(BaseCommand):
    help = "Serves the business behind a reverse proxy: backs up and upgrades first where that is due. Ends in order on SIGTERM."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--host", default="127.0.0.1", help="the address to listen on (127.0.0.1)")
        parser.add_argument("--port", type=int, default=8000, help="the port to listen on (8000)")
        parser.add_argument("--threads", type=int, default=8, help="requests served at once (8)")

    def handle(self, *args: Any, **told: Any) -> None:
        if refused := list(serve.refusals()):
            raise CommandError("\n".join(["Nothing is served:", *refused]))
        try:
            for step in serve.make_current():
                self.stdout.write(step)
        except backup.NotRestored as trouble:
            raise CommandError(f"Nothing was upgraded and nothing is served: the upgrade fails on a copy. {trouble}") from trouble
        self.stdout.write(serve.first_address() or f"Serving {told['host']}:{told['port']}.")
        self.stdout.flush()
        connections.close_all()
        os.execv((words := serve.gunicorn(told["host"], told["port"], told["threads"]))[0], words)  # noqa: S606  our own words
