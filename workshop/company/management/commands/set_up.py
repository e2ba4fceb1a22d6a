from argparse import ArgumentParser
from getpass import getpass
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.db import transaction

from workshop.company import actions
from workshop.history.actions import Actor


class Command(BaseCommand):
    help = "Makes the business and its owner in an empty place. Everything else is set on the page Business."

    def add_arguments(self, parser: ArgumentParser) -> None:
        for name in ("name", "address", "phone"):
            parser.add_argument(f"--{name}", required=True, help=f"the {name} of the business, as on its paper")
        parser.add_argument("--tax-profile", required=True, help="a file of fixtures/tax: australia, unregistered, vellmark")
        parser.add_argument("--country", help="needed with the profile unregistered")
        parser.add_argument("--currency", help="three letters, needed with the profile unregistered")
        parser.add_argument("--owner", required=True, help="the name the owner signs in with")

    @transaction.atomic
    def handle(self, *args: Any, **told: Any) -> None:
        actor, more = Actor.system("set_up"), {name: told[name] for name in ("country", "currency") if told[name]}
        password = getpass("Password for the owner, 15 characters or more: ")
        try:
            basics = {name: told[name] for name in ("name", "address", "phone")}
            actions.set_up(actor, **basics, tax_profile_name=told["tax_profile"], **more)
            actions.add_person(actor, username=told["owner"], first_name=told["owner"], last_name="", role="owner", password=password)
        except (actions.Refused, ValueError, LookupError, KeyError) as refused:
            raise CommandError(f"Nothing was set up. {refused}") from refused
        self.stdout.write(f"{told['name']} is set up. Sign in as {told['owner']}.")
