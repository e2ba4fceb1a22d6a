from argparse import ArgumentParser
from typing import Any

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError

from workshop.demo import build, people, serve


class Command(BaseCommand):
    help = "Builds the make-believe business, prints how to get in, and serves it."
    requires_system_checks = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--port", type=int, default=8000)
        parser.add_argument("--no-serve", action="store_true", help="build and print only")
        parser.add_argument("--reset", action="store_true", help="throw the demo's data away first")

    def handle(self, *args: Any, **options: Any) -> None:
        if not settings.DEMO:
            raise CommandError("The demo has data of its own: start it as python3 manage.py demo.")
        if options["reset"] or not build.standing():
            build.clear()
        serve.prepare(options["port"])
        call_command("migrate", verbosity=0)
        if not build.standing():
            self.stderr.write("Building the make-believe business: fourteen months of jobs with all their papers, about half a minute.")
            build.build()
        for line in [f"staff: {settings.SITE_URL}/", *serve.names(), f"customer link: {people.customer_link()}"]:
            self.stdout.write(line)
        self.stdout.flush()
        if not options["no_serve"]:
            serve.serve(options["port"])
