"""Write the accounts of the cases."""

import re
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from django.db import transaction

from workshop.bookkeeping import queries
from workshop.bookkeeping.models import Account
from workshop.history.actions import Actor, record
from workshop.ledger.actions import Refused, lock_books

# The five roots and the letters that all three journal readers take.
ACCOUNT = re.compile(r"(Assets|Liabilities|Equity|Income|Expenses)(:[A-Z0-9][A-Za-z0-9-]*)+")
STALE = "Somebody changed the accounts after you opened this sheet. Load it again and look."


def require_account(name: str) -> str:
    """The name, for one that all journal readers take. Raises Refused with a sentence."""
    if not ACCOUNT.fullmatch(name) or len(name) > 80:
        raise Refused(
            f"{name[:80]!r} is no account. Begin with Assets, Liabilities, Equity, Income or Expenses, like Income:Labour; "
            "after each colon a capital or a figure, then letters, figures and hyphens."
        )
    return name


def write_mapping(rows: Iterable[Mapping[str, str]]) -> list[Account]:
    """Writes or rewrites the account of each case (role, and line_kind, tax_code, customer_kind where they matter); records nothing.

    Batches that were written keep their accounts. Raises Refused for a name that the journal readers would not take."""
    kept = []
    for row in rows:
        name = require_account(row["name"])
        kept.append(Account.objects.update_or_create(**_case(row), defaults={"name": name})[0])
    return kept


@transaction.atomic
def map_accounts(actor: Actor, rows: Sequence[Mapping[str, str]], *, seen: str | None = None) -> list[dict[str, str]]:
    """As write_mapping, as a verb of its own; a row with an empty name takes the account of its case away. Returns what changed, each
    with case, before and after; nothing is recorded when nothing did. Raises Refused for a sheet that is not fresh (`seen`)."""
    lock_books()
    if seen is not None and seen != queries.seen_of_accounts():
        raise Refused(STALE)
    names = queries.Mapping().names
    changed = [row for row in rows if names.get(_key(row), "") != row["name"]]
    told = [{"case": queries.in_words(_key(row)), "before": names.get(_key(row), ""), "after": row["name"]} for row in changed]
    write_mapping(row for row in changed if row["name"])
    for row in changed:
        if not row["name"]:
            Account.objects.filter(**_case(row)).delete()
    if told:
        record("bookkeeping.mapped", actor, payload={"rows": len(told), "changes": told})
    return told


def _case(row: Mapping[str, str]) -> dict[str, Any]:
    return {column: row.get(column, "") for column in queries.CASE}


def _key(row: Mapping[str, str]) -> queries.Case:
    role, line_kind, tax_code, customer_kind = (row.get(column, "") for column in queries.CASE)
    return (role, line_kind, tax_code, customer_kind)
