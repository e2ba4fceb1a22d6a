"""Balanced postings: debit positive, credit negative, together zero."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from uuid import UUID

from workshop.calc.money import ZERO, round_to_coin


@dataclass(frozen=True)
class Posting:
    """A signed amount in whole coins on a role such as receivable, sales, output_tax or bank. Raises ValueError for part of a coin."""

    role: str
    amount: Decimal
    line_kind: str = ""
    tax_code: str = ""
    customer_kind: str = ""
    party_uid: UUID | None = None

    def __post_init__(self) -> None:
        if not self.role:
            raise ValueError("A posting needs a role.")
        if round_to_coin(self.amount) != self.amount:
            raise ValueError(f"{self.role} {self.amount} is not in whole coins.")


def balance(postings: Iterable[Posting]) -> Decimal:
    """The sum of the postings: zero for a balanced entry, positive when debits are too much."""
    return sum((posting.amount for posting in postings), ZERO)


def by_role(postings: Iterable[Posting]) -> dict[str, Decimal]:
    """The sum of each role, in the order in which the roles first appear."""
    sums: dict[str, Decimal] = {}
    for posting in postings:
        sums[posting.role] = sums.get(posting.role, ZERO) + posting.amount
    return sums


def require_balanced(postings: Sequence[Posting]) -> None:
    """Nothing, for an entry that balances. Raises ValueError that says by how much it does not, or that it is empty."""
    if not postings:
        raise ValueError("An entry without postings says nothing.")
    left = balance(postings)
    if left:
        rows = ", ".join(f"{posting.role} {posting.amount}" for posting in postings)
        raise ValueError(f"The entry is out by {left}: {rows}.")


def reverse(postings: Iterable[Posting]) -> tuple[Posting, ...]:
    """The same postings with every sign turned: with the first entry they sum to zero on every role."""
    return tuple(replace(posting, amount=ZERO - posting.amount) for posting in postings)
