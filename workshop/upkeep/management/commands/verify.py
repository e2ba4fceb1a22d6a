from typing import Any

from django.core.management.base import BaseCommand, CommandError

from workshop.upkeep import verify


class Command(BaseCommand):
    help = "Adds everything up again: history chain, files against hashes, versions, documents, number series, ledger."

    def handle(self, *args: Any, **options: Any) -> None:
        found = list(verify.problems())
        if found:
            raise CommandError("\n".join([*found, f"{len(found)} things do not add up."]))
        self.stdout.write("All adds up: " + ", ".join(f"{count} {what}" for what, count in verify.counts().items()) + ".")
