from argparse import ArgumentParser
from typing import Any

from django.conf import settings
from django.core.mail import EmailMessage
from django.core.management.base import BaseCommand, CommandError
from django.core.validators import EmailValidator

WORDS = "This is a test. When you can read it, quotes and invoices can be sent from here."


class Command(BaseCommand):
    help = "Sends one mail, to see whether the mail settings work."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("address")

    def handle(self, *args: Any, **told: Any) -> None:
        try:
            EmailValidator("That is no mail address. It looks like name@place.example.")(told["address"])
            EmailMessage("Test from Hardstand", WORDS, settings.DEFAULT_FROM_EMAIL, [told["address"]]).send()
        except Exception as trouble:
            raise CommandError(f"Not sent. {' '.join(getattr(trouble, 'messages', [])) or trouble}") from trouble
        self.stdout.write(f"Handed over as from {settings.DEFAULT_FROM_EMAIL}. Look for it in the mailbox, and among the unwanted mail.")
