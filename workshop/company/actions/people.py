"""Who signs in, and with which role. The owner gives the password and it is never shown again."""

from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction

from workshop.company import queries
from workshop.company.actions.common import Refused, require_fresh
from workshop.history.actions import Actor, record
from workshop.staff.models import User

WEAK = {
    "password_too_short": "Shorter than 15 characters. Four words in a row are long enough and can be remembered.",
    "password_too_common": "Many people use this one. Choose words that only belong to you.",
    "password_too_similar": "Too near to the name. Choose words that have nothing to do with it.",
}


def require_strong(password: str, user: User) -> None:
    """Raises Refused with the first thing that is weak about a password."""
    try:
        validate_password(password, user)
    except ValidationError as weak:
        first = weak.error_list[0]
        raise Refused(WEAK.get(first.code or "", first.messages[0]), "password") from weak


@transaction.atomic
def add_person(actor: Actor, *, username: str, first_name: str, last_name: str, role: str, password: str) -> User:
    """Somebody who may sign in from now on. Raises Refused when the name to sign in with is taken or the password weak."""
    taken = Refused(f"{username} is taken. Choose another name to sign in with.", "username")
    if User.objects.filter(username__iexact=username).exists():
        raise taken
    user = User(username=username, first_name=first_name, last_name=last_name, role=role)
    require_strong(password, user)
    user.set_password(password)
    try:
        with transaction.atomic():
            user.save(force_insert=True)
    except IntegrityError as double:
        raise taken from double
    record("company.person_added", actor, payload={"name": str(user), "role": role})
    return user


@transaction.atomic
def change_person(
    actor: Actor, pk: int, *, first_name: str, last_name: str, role: str, is_active: bool, password: str = "", seen: str | None = None
) -> list[str]:
    """Changes name, role, whether the account is open, and the password when one is given; the words of what changed.

    Nothing new: nothing is written and nothing recorded. Raises Refused for the last open owner and for closing oneself."""
    owners = [*User.objects.select_for_update().filter(role=User.Role.OWNER, is_active=True).order_by("pk").values_list("pk", flat=True)]
    user = User.objects.select_for_update().get(pk=pk)
    shown = queries.seen_of_person(user)
    typed = {"first_name": first_name, "last_name": last_name, "role": role, "is_active": is_active}
    changed = {field: value for field, value in typed.items() if getattr(user, field) != value}
    if not changed and not password:
        return []
    require_fresh(seen, shown, f"Somebody changed this sheet after you opened it. On file now: {queries.person_words(user)}.")
    _require_allowed(actor, user, owners, changed)
    for field, value in changed.items():
        setattr(user, field, value)
    if password:
        require_strong(password, user)
        user.set_password(password)
    user.save()
    words = _words(user, changed, password)
    record("company.person_changed", actor, payload={"name": str(user), "what": ", ".join(words)})
    return words


def _require_allowed(actor: Actor, user: User, owners: list[int], changed: dict[str, object]) -> None:
    closes, demotes = changed.get("is_active") is False, "role" in changed
    if closes and str(actor) == str(Actor.of(user)):
        raise Refused("You cannot close your own account. Another owner can.", "is_active")
    if owners == [user.pk] and (closes or demotes):
        what, box = ("closed", "is_active") if closes else ("given another role", "role")
        raise Refused(f"{user} is the only owner who can sign in and cannot be {what}. Make somebody else owner first.", box)


def _words(user: User, changed: dict[str, object], password: str) -> list[str]:
    words = []
    if {"first_name", "last_name"} & changed.keys():
        words.append(f"name {user}")
    if "role" in changed:
        words.append(f"role {user.role}")
    if "is_active" in changed:
        words.append("account open" if user.is_active else "account closed")
    return [*words, "new password"] if password else words
