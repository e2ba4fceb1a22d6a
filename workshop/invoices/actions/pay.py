"""Take a payment on one document or several; keep the rest as the customer's credit; use that later, or give it back."""

from collections.abc import Mapping, Sequence
from datetime import date
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.db import transaction

from workshop import clock
from workshop.calc import money
from workshop.calc.money import ZERO
from workshop.company import queries as company
from workshop.company.actions import tax_profile
from workshop.customers.models import Party
from workshop.history.actions import Actor, record
from workshop.invoices import queries
from workshop.invoices.actions.release import vehicle_of
from workshop.invoices.models import Allocation, Document, Payment
from workshop.ledger.actions import Conflict, PostingIn, Refused, WrongDay, write_entry

ROLES = {Payment.Method.BANK: "bank", Payment.Method.CARD: "card_clearing", Payment.Method.CASH: "cash"}
OTHERWISE = "This page {done} already, with other content. That one stands. Open the page again and start anew."


def take_payment(
    actor: Actor,
    document: Document,
    *,
    method: str,
    amount: Decimal,
    paid_on: date,
    request_uid: UUID,
    reference: str = "",
    fee: Decimal = ZERO,
    keep_rest: bool = False,
) -> Payment:
    """Money that came in for one invoice. As take_for; more than is open is refused unless the rest is kept as credit."""
    return take_for(
        actor,
        document.payer,
        [document],
        method=method,
        amount=amount,
        paid_on=paid_on,
        request_uid=request_uid,
        reference=reference,
        fee=fee,
        keep_rest=keep_rest,
    )


@transaction.atomic
def take_for(
    actor: Actor,
    party: Party,
    documents: Sequence[Document],
    *,
    method: str,
    amount: Decimal,
    paid_on: date,
    request_uid: UUID,
    reference: str = "",
    fee: Decimal = ZERO,
    keep_rest: bool = False,
) -> Payment:
    """Money that came in from a payer, laid on these invoices, the longest due first, and posted in the same transaction.

    What is left over is the payer's credit when `keep_rest` says so. Cash that is what is open in the smallest coin settles it whole; the
    difference is posted by itself. The same request again returns the same payment. Raises Conflict when it took another, WrongDay for a
    day to come, one before an invoice or in closed books, Refused for nothing, too much, a credit note, a fee without a card."""
    held = _hold(party, documents)
    about = {"method": method, "amount": amount, "paid_on": paid_on, "reference": reference[:80]}
    about |= {"fee_amount": fee, "direction": Payment.Direction.IN}
    if made := _made(request_uid, about, held):
        return made
    _check(held, method, amount, fee, paid_on)
    rounding = _rounding(held, method, amount)
    laid = _laid(held, amount + rounding)
    rest = amount + rounding - sum(laid.values(), ZERO)
    if rest and not keep_rest:
        raise Refused(_too_much(held, amount))
    payer = held[0].payer if held else party
    kept = {**about, "method": Payment.Method(method)}
    payment = Payment.objects.create(request_uid=request_uid, party=payer, rounding_amount=rounding, entered_at=clock.now(), **kept)
    Allocation.objects.bulk_create(Allocation(payment=payment, document=each, amount=part) for each, part in laid.items() if part)
    _post(payment, payer, sum(laid.values(), ZERO), rest, [each.number for each in laid])
    _tell("payment.taken", actor, held, {"amount": amount, "method": payment.get_method_display(), "payment": payment.uid})
    return payment


@transaction.atomic
def use_credit(actor: Actor, party: Party, documents: Sequence[Document], *, request_uid: UUID) -> Decimal:
    """Lays the payer's credit on these invoices, the longest due first; the oldest money goes first. Returns how much was used.

    The same request again changes nothing. Raises Conflict when it was used for others, Refused when there is no credit or nothing open."""
    held = _hold(party, documents)
    if before := list(Allocation.objects.filter(request_uid=request_uid)):
        if {row.document_id for row in before} - {each.pk for each in held}:
            raise Conflict(OTHERWISE.format(done="used the credit"))
        return sum((row.amount for row in before), ZERO)
    free = queries.free_money(party)
    laid = _laid(held, sum(free.values(), ZERO))
    used = sum(laid.values(), ZERO)
    if not used:
        raise Refused("There is no credit to use." if not free else "Nothing is open on these invoices.")
    _spend(free, [(amount, {"document": each, "request_uid": request_uid, "used_on": clock.today()}) for each, amount in laid.items()])
    for each, amount in laid.items():
        if amount:
            postings = [("customer_credit", amount), ("receivable", -amount)]
            words = f"Credit used on {each.number}, {each.payer.name}"
            _entry("credit_use", request_uid, each.payer, postings, reference=each.number, on=clock.today(), words=words)
    _tell("payment.credit_used", actor, held, {"amount": used, "party": party.name})
    return used


@transaction.atomic
def give_back(
    actor: Actor, party: Party, *, method: str, amount: Decimal, paid_on: date, request_uid: UUID, reference: str = ""
) -> Payment:
    """A payment out of the payer's credit, posted the opposite way. The same request again returns the same payment.

    Raises Conflict when it was another, WrongDay for a day to come or in closed books, Refused for nothing or more than the credit."""
    _hold(party, ())
    about = {"method": method, "amount": amount, "paid_on": paid_on, "reference": reference[:80], "direction": Payment.Direction.OUT}
    if made := _made(request_uid, about, ()):
        return made
    if paid_on > clock.today():
        raise WrongDay(f"{paid_on} has not come yet. Write the day on which the money went out.")
    free = queries.free_money(party)
    credit = sum(free.values(), ZERO)
    if amount <= 0:
        raise Refused("Nothing goes back. Write an amount above 0.00.")
    if amount > credit:
        raise Refused(f"{party.name} has a credit of {credit:,}, not {amount:,}. Give back at most that.")
    kept = {**about, "method": Payment.Method(method)}
    refund = Payment.objects.create(request_uid=request_uid, party=party, entered_at=clock.now(), **kept)
    _spend(free, [(amount, {"refund": refund, "used_on": paid_on})])
    postings = [("customer_credit", amount), (ROLES[Payment.Method(method)], -amount)]
    words = f"Given back by {refund.get_method_display()}, {party.name}"
    _entry("refund", refund.uid, party, postings, reference=refund.reference or "refund", on=paid_on, words=words)
    told = {"amount": amount, "party": party.name, "method": refund.get_method_display(), "payment": refund.uid}
    record("payment.given_back", actor, payload=told)
    return refund


def _hold(party: Party, documents: Sequence[Document]) -> list[Document]:
    """The documents as they stand, the longest due first, locked in the order of their keys, then the payer."""
    keys = sorted({each.pk for each in documents})
    rows = Document.objects.select_for_update(of=("self",)).select_related("payer", "card").filter(pk__in=keys).order_by("pk")
    held = sorted(rows, key=lambda each: (each.due_on, each.pk))
    theirs = set(queries.same_party(party).select_for_update().values_list("pk", flat=True))
    if any(each.payer_id not in theirs for each in held):
        raise Refused("These invoices have more than one payer. Take one payment of each.")
    return held


def _made(request_uid: UUID, about: Mapping[str, Any], held: Sequence[Document]) -> Payment | None:
    made = Payment.objects.filter(request_uid=request_uid).first()
    if made is None:
        return None
    paid = set(made.allocations.exclude(document=None).filter(request_uid=None).values_list("document_id", flat=True))
    if (
        any(getattr(made, name) != value for name, value in about.items())
        or not paid <= {each.pk for each in held}
        or bool(paid) < bool(held)
    ):
        raise Conflict(OTHERWISE.format(done=f"took {made.amount:,} by {made.get_method_display()}"))
    return made


def _check(held: Sequence[Document], method: str, amount: Decimal, fee: Decimal, paid_on: date) -> None:
    if any(each.kind != Document.Kind.INVOICE for each in held):
        raise Refused("A payment is taken on an invoice, not on a credit note.")
    if amount <= 0:
        raise Refused("Nothing was paid. Write the amount that came in, above 0.00.")
    if fee and (method != Payment.Method.CARD or not 0 < fee < amount):
        raise Refused("A fee is kept back of a card payment only, and is less than it.")
    if paid_on > clock.today():
        raise WrongDay(f"{paid_on} has not come yet. Write the day on which the money came in.")
    if late := next((each for each in held if paid_on < each.issued_on), None):
        raise WrongDay(
            f"{paid_on} is before the invoice of {late.issued_on}. Write that day or later; money before an invoice is taken as credit."
        )


def _too_much(held: Sequence[Document], amount: Decimal) -> str:
    if not held:
        return "No invoice is ticked. Tick what it pays, or that it is kept as credit."
    left = sum(map(queries.open_amount, held), ZERO)
    names = ", ".join(each.number for each in held)
    if not left:
        return f"Nothing is open on {names}. Look whether the money is for another invoice, or tick that it is kept as credit."
    return f"{left:,} are open on {names}, not {amount:,}. Take {left:,}, or tick that the rest is kept as credit."


def _rounding(held: Sequence[Document], method: str, amount: Decimal) -> Decimal:
    """What settles beside the cash that was handed over: open less handed, when the cash is just what is open in the smallest coin."""
    if method != Payment.Method.CASH:
        return ZERO
    left = sum(map(queries.open_amount, held), ZERO)
    profile = tax_profile(company.company().tax_profile)
    if left and amount == money.round_cash(left, Decimal(profile["cash_step"]), profile["half_coin"]):
        return left - amount
    return ZERO


def _laid(held: Sequence[Document], amount: Decimal) -> dict[Document, Decimal]:
    laid = {}
    for each in held:
        laid[each] = min(amount, max(queries.open_amount(each), ZERO))
        amount -= laid[each]
    return laid


def _spend(free: Mapping[Payment, Decimal], wants: Sequence[tuple[Decimal, Mapping[str, Any]]]) -> None:
    left = dict(free)
    for amount, about in wants:
        for payment, held in left.items():
            part = min(held, amount)
            if part:
                Allocation.objects.create(payment=payment, amount=part, **about)
                left[payment] -= part
                amount -= part  # noqa: PLW2901 - what is still wanted


def _post(payment: Payment, payer: Party, laid: Decimal, rest: Decimal, numbers: Sequence[str]) -> None:
    postings = [
        (ROLES[Payment.Method(payment.method)], payment.amount - payment.fee_amount),
        ("card_fees", payment.fee_amount),
        ("cash_rounding", payment.rounding_amount),
        ("receivable", -laid),
        ("customer_credit", -rest),
    ]
    words = f"Payment by {payment.get_method_display()}, {payer.name}"
    reference = ", ".join(numbers)[:60] or "on account"
    _entry("payment", payment.uid, payer, postings, reference=reference, on=payment.paid_on, words=words)


def _entry(kind: str, uid: UUID, payer: Party, postings: Sequence[tuple[str, Decimal]], *, reference: str, on: date, words: str) -> None:
    write_entry(
        source_kind=kind,
        source_uid=uid,
        reference=reference,
        dated_on=on,
        tax_point_on=on,
        words=words,
        postings=[PostingIn(role, amount, customer_kind=payer.kind, party_uid=payer.uid) for role, amount in postings],
    )


def _tell(kind: str, actor: Actor, held: Sequence[Document], told: dict[str, Any]) -> None:
    cards = {each.card_id: vehicle_of(each) for each in held}
    card_id, vehicle_id = next(iter(cards.items())) if len(cards) == 1 else (None, None)
    numbers = ", ".join(each.number for each in held) or "account, as credit"
    record(kind, actor, card_id=card_id, vehicle_id=vehicle_id, payload={**told, "number": numbers})
