"""The office's side of a quote: what the customer will see, send it, note what was said on the telephone."""

import uuid
from datetime import datetime
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext
from django.views.decorators.http import require_POST, require_safe

from workshop import clock
from workshop.company.queries import company
from workshop.history.actions import acting
from workshop.jobs import queries as jobs
from workshop.jobs.models import Card, Line
from workshop.letters import queries as letters
from workshop.links import queries as links
from workshop.pages.roles import for_roles
from workshop.quotes import actions, queries
from workshop.quotes.actions.compose import CLOSING_HOUR, MAY_BE_OFFERED, default_expiry, unpriced
from workshop.quotes.forms import PhonedForm, SendForm
from workshop.quotes.models import Question, Version

SELLERS = ("owner", "mechanic", "office")


def found_card(pk: int) -> Card:
    """The card or a calm 404."""
    card = jobs.card(pk)
    if card is None:
        raise Http404
    return card


def found_version(uid: uuid.UUID) -> Version:
    """The version with its card, or a calm 404."""
    version = Version.objects.select_related("card__vehicle").filter(uid=uid).first()
    if version is None:
        raise Http404
    return version


def gaps(line: Line) -> list[str]:
    """What a line lacks before a customer can make sense of it."""
    missing = {"No price yet": unpriced(line), "No plain words for the customer": not line.plain_words.strip()}
    return [words for words, lacks in missing.items() if lacks]


def send_form(card: Card, data: QueryDict | None = None) -> SendForm:
    """The form with what was ticked and typed; untouched, with every waiting line and whoever may say yes."""
    rows = card.lines.prefetch_related("parts")
    lines = [(line.number, " · ".join([f"{line.number} {line.words}", *gaps(line)])) for line in rows if line.answer in MAY_BE_OFFERED]
    if data:
        return SendForm(lines, data)
    whom = queries.asked(card)
    waiting = [line.number for line in rows if line.answer in MAY_BE_OFFERED - {"not_now"}]
    ends = timezone.localtime(default_expiry(company(), clock.now())).date()
    known = {"for_whom": whom.name, "email": whom.email} if whom else {}
    if opened := queries.open_version(card):
        known["for_whom"] = queries.body(opened)["for_whom"]
    return SendForm(lines, initial={"numbers": waiting, "expires_on": ends, **known})


def numbered(data: QueryDict, *, anew: bool = False) -> QueryDict:
    """What was typed, with a number for the page that shows it; nothing stays nothing."""
    if not data or ("request_uid" in data and not anew):
        return data
    mine = data.copy()
    mine["request_uid"] = str(uuid.uuid4())
    return mine


def preview(card: Card, form: SendForm) -> dict[str, Any]:
    """The page as the customer will see it, or the sentence why it cannot be drawn."""
    said = dict(form.initial)
    if form.is_bound:
        form.is_valid()
        said = dict(form.cleaned_data)
    numbers = [int(number) for number in said.get("numbers") or []]
    try:
        page = actions.compose(card, for_whom=said.get("for_whom", ""), numbers=numbers, expires_at=ends_at(said), draft=True)
    except actions.Refused as refusal:
        return {"no_preview": str(refusal)}
    opened = queries.open_version(card)
    return {
        "preview": queries.sheet(page, {}),
        "total": page["total"]["gross"],
        "unchanged": opened is not None and opened.expires_at > clock.now() and queries.same_but_for_times(page, queries.body(opened)),
        "undriven": not page["drive"]["advice"] and any(queries.unsafe(found) for found in page["wrong"]["found"]),
    }


def ends_at(said: dict[str, Any]) -> datetime | None:
    """Six in the evening of the chosen day."""
    on = said.get("expires_on")
    return datetime.combine(on, CLOSING_HOUR, tzinfo=timezone.get_current_timezone()) if on else None


def drawn(request: HttpRequest, card: Card, *, status: int = 200, **more: Any) -> HttpResponse:
    """The quote page: lines to offer, preview, the versions that were sent, and the open one with its link."""
    form = more.pop("form", None) or send_form(card, numbered(request.GET))
    opened = queries.open_version(card)
    context = {"card": card, "form": form, "versions": sent_versions(card), **preview(card, form), **more}
    context["questions"] = [*queries.unanswered(card), *answered_questions(opened)]
    if opened:
        context |= passed_on(card, opened)
        context.setdefault("phoned", PhonedForm(queries.body(opened), initial=phoned_start(card)))
    return render(request, "quotes/quote.html", context, status=status)


def answered_questions(opened: Version | None) -> list[Question]:
    """What was asked about the open version and has our reply."""
    return [question for question in queries.questions(opened) if question.reply] if opened else []


def sent_versions(card: Card) -> list[Version]:
    """All versions, newest first; an answered one with the address of its receipt."""
    versions = list(queries.of_card(card))
    kept = queries.links_of(versions)
    for version in versions:
        if version.state == Version.State.ANSWERED and version.uid in kept:
            version.receipt = reverse("quotes:receipt", args=[links.token_of(kept[version.uid])])  # type: ignore[attr-defined]
    return versions


def phoned_start(card: Card) -> dict[str, Any]:
    """Whom we would call, on which number."""
    whom = queries.asked(card)
    known = {"name": whom.name, "number_dialled": whom.phone} if whom else {}
    return {"request_uid": uuid.uuid4(), **known}


def passed_on(card: Card, version: Version) -> dict[str, Any]:
    """The open version's address, ready for a message, a mail or another telephone's camera."""
    link = queries.link_of(version)
    if link is None:
        return {"open": version}
    address, whom = links.address(link, "quotes:go_ahead"), queries.asked(card)
    words = render_to_string("quotes/mail/share.txt", {"page": queries.body(version), "version": version})
    told = {"phone": whom.phone, "email": whom.email} if whom else {}
    passing = links.passing(address, title=gettext("Quote %(version)s") % {"version": version}, words=words, **told)
    letter = letters.about(version.uid).first()
    return {"open": version, "standing": queries.standing(version, link), "passing": passing, "letter": letter}


def status_of(refusal: actions.Refused) -> int:
    """409 when the same request said something else before, else 422."""
    return 409 if isinstance(refusal, actions.Conflict) else 422


@for_roles(*SELLERS)
@require_safe
def quote(request: HttpRequest, pk: int) -> HttpResponse:
    """What the customer will see, before it goes; what was sent, after."""
    return drawn(request, found_card(pk))


@for_roles(*SELLERS)
@require_POST
def send(request: HttpRequest, pk: int) -> HttpResponse:
    """Freezes the version and sends it."""
    card = found_card(pk)
    form = send_form(card, request.POST)
    if not form.is_valid():
        return drawn(request, card, status=422, form=form)
    said = form.cleaned_data
    ends = ends_at(said)
    if ends and ends <= clock.now():
        form.add_error("expires_on", "That day has passed. Choose a later one.")
        return drawn(request, card, status=422, form=form)
    numbers = [int(number) for number in said["numbers"]]
    try:
        version = actions.send_version(
            acting(request),
            card,
            for_whom=said["for_whom"],
            email=said["email"],
            numbers=numbers,
            expires_at=ends_at(said),
            request_uid=said["request_uid"],
        )
    except actions.Refused as refusal:
        if isinstance(refusal, actions.Conflict):  # knowingly pressed once more, it is another version
            form.data = numbered(request.POST, anew=True)
        form.add_error(None, str(refusal))
        return drawn(request, card, status=status_of(refusal), form=form)
    sent = f" The letter to {said['email']} is in the out-tray." if said["email"] else " Pass the link on."
    messages.success(request, f"Version {version.no} stands and cannot be changed any more.{sent}")
    return redirect("quotes:quote", pk=card.pk)


@for_roles(*SELLERS)
@require_POST
def phoned(request: HttpRequest, uid: uuid.UUID) -> HttpResponse:
    """Notes an answer given on the telephone, once lines, risk and this very total were read out."""
    version = found_version(uid)
    form = PhonedForm(queries.body(version), request.POST)
    total = str(queries.price_choice(version, [n for n, said in form.answers.items() if said == queries.ACCEPT]).gross)
    if not form.is_valid() or request.POST.get("total") != total:
        return drawn(request, version.card, status=422, phoned=form, phoned_total=total)
    said = form.cleaned_data
    kept = ("name", "number_dialled", "read_out", "request_uid")
    try:
        actions.record_phoned(acting(request), version, answers=form.answers, **{name: said[name] for name in kept})
    except actions.Refused as refusal:
        form.add_error(None, str(refusal))
        return drawn(request, version.card, status=status_of(refusal), phoned=form, phoned_total=total)
    messages.success(request, f"Noted: {said['name']} answered version {version.no} on the telephone.")
    return redirect("quotes:quote", pk=version.card_id)


@for_roles(*SELLERS)
@require_POST
def take_back(request: HttpRequest, uid: uuid.UUID) -> HttpResponse:
    """Closes an open version without another in its place."""
    version = found_version(uid)
    try:
        actions.take_back(acting(request), version)
        messages.success(request, f"Version {version.no} is taken back. Its link shows only our telephone number now.")
    except actions.Refused as refusal:
        messages.error(request, str(refusal))
    return redirect("quotes:quote", pk=version.card_id)


@for_roles(*SELLERS)
@require_POST
def reply(request: HttpRequest, uid: uuid.UUID) -> HttpResponse:
    """Puts our answer under a customer's question."""
    question = Question.objects.select_related("version_line__version__card__vehicle").filter(uid=uid).first()
    if question is None:
        raise Http404
    card = question.version_line.version.card
    try:
        actions.reply(acting(request), question, request.POST.get("text", ""))
    except actions.Refused as refusal:
        return drawn(request, card, status=422, replying=question.uid, no_reply=str(refusal), reply_typed=request.POST.get("text", ""))
    version = question.version_line.version
    shown = version.state in {Version.State.OPEN, Version.State.ANSWERED} or queries.newer(version) is not None
    messages.success(request, "The answer stands on the customer’s page." if shown else "The answer is kept, but the page is closed: call.")
    return redirect("quotes:quote", pk=card.pk)
