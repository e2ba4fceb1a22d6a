"""Sign-up is closed: the owner makes the accounts. What allauth says about keys and codes is said in our words."""

from allauth.account.adapter import DefaultAccountAdapter
from allauth.mfa.adapter import DefaultMFAAdapter
from django.http import HttpRequest


class ClosedDoor(DefaultAccountAdapter):  # type: ignore[misc]
    """allauth asks here whether a stranger may open an account."""

    error_messages = {
        **DefaultAccountAdapter.error_messages,
        "username_password_mismatch": "Name and password do not fit together. Both count capitals. The owner can set a new password.",
        "too_many_login_attempts": "Too many tries. Wait five minutes, then try again.",
        "account_inactive": "This account is closed. Ask the owner.",
        "incorrect_password": "That is not your password. It counts capitals.",
    }

    def is_open_for_signup(self, request: HttpRequest) -> bool:
        return False


class Keys(DefaultMFAAdapter):  # type: ignore[misc]
    """allauth asks here about passkeys and one-time codes."""

    error_messages = {**DefaultMFAAdapter.error_messages, "incorrect_code": "That code does not fit. Take the one that shows now."}
