from argparse import ArgumentParser
from getpass import getpass
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from workshop.company import actions
from workshop.history.actions import Actor
from workshop.staff.models import User


class Command(BaseCommand):
    help = "Asks twice for a new password of somebody who signs in, opens a closed account, and ends every sign-in of theirs."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("username")

    def handle(self, *args: Any, **told: Any) -> None:
        user = User.objects.filter(username=told["username"].lower()).first()
        if user is None:
            names = ", ".join(user.username for user in User.objects.order_by("username"))
            raise CommandError(f"Nobody signs in as {told['username']}. There are: {names}.")
        if (password := getpass(f"New password for {user}, 15 characters or more: ")) != getpass("The same again: "):
            raise CommandError("The two are not the same. Nothing was changed.")
        same: Any = {"first_name": user.first_name, "last_name": user.last_name, "role": user.role, "is_active": True}
        try:
            actions.change_person(Actor.system("reset_password"), user.pk, **same, password=password)
        except actions.Refused as refused:
            raise CommandError(f"Nothing was changed. {refused}") from refused
        self.stdout.write(f"{user} signs in as {user.username} with the new password.")
