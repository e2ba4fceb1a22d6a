"""Sign-up is closed: the owner makes the accounts."""

from allauth.account.adapter import DefaultAccountAdapter
from django.http import HttpRequest


class ClosedDoor(DefaultAccountAdapter):  # type: ignore[misc]
    """allauth asks here whether a stranger may open an account."""

    def is_open_for_signup(self, request: HttpRequest) -> bool:
        return False
