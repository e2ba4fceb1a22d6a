"""The customer's pages, by link. Reading them changes nothing: mail scanners read every address they see."""

import uuid
from collections.abc import Callable
from decimal import Decimal
from functools import wraps
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.template.loader import render_to_string
from django.utils.crypto import constant_time_compare, salted_hmac
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from workshop.files import queries as files
from workshop.files.models import Blob
from workshop.history.actions import Actor
from workshop.links import queries as links
from workshop.links.models import Link
from workshop.pages import errors
from workshop.pages.headers import client_address, public_headers
from workshop.quotes import actions, queries
from workshop.quotes.forms import GoAheadForm, OrderForm
from workshop.quotes.models import Version

type View = Callable[..., HttpResponse]
OTHER_PAGE = errors.Trouble(
    403,
    gettext_lazy("This page was too old"),
    gettext_lazy("What you sent does not belong to the page as it stands now. Nothing was ordered."),
    gettext_lazy("Open the link from our message again and choose anew."),
)
SAID_ELSE = gettext_lazy("This answer was sent before, and it said something else then. The first answer stands; this one changed nothing.")
GONE, CONFLICT, UNFIT = 410, 409, 422


def found(token: str) -> tuple[Link, Version] | None:
    """The link and its version, dead or alive; None for an unknown token."""
    link = links.find(token, "quote")
    return None if link is None else (link, queries.behind(link))


def nothing_here(request: HttpRequest) -> HttpResponse:
    """The same plain 404 for everything unknown, to the byte."""
    return plain(errors.NOT_FOUND)


def plain(trouble: errors.Trouble) -> HttpResponse:
    """A calm page for a customer: what is wrong and what to do, nothing of ours around it."""
    return HttpResponse(render_to_string("quotes/_nothing.html", {"trouble": trouble}), status=trouble.status)


def nonce_of(link: Link, version: Version) -> str:
    """What every form of this page carries: bound to this link and this version, made only by us (A8)."""
    return salted_hmac("quotes.public_views", f"{link.uid} {version.sha256}", algorithm="sha256").hexdigest()


def of_link(view: View) -> View:
    """Hands the view the link and the version behind its token; the plain 404 for an unknown one, 403 for a form that is not of this page.

    Django's own check wants an Origin or a Referer, and browsers send neither from a page with `Referrer-Policy: no-referrer`
    (Fetch standard, "append a request Origin header": null). No cookie gives power here, only the address; the form's nonce is checked.
    """

    @wraps(view)
    def looked_up(request: HttpRequest, token: str, **more: Any) -> HttpResponse:
        behind = found(token)
        if behind is None:
            return nothing_here(request)
        if request.method == "POST" and not constant_time_compare(request.POST.get("nonce", ""), nonce_of(*behind)):
            return plain(OTHER_PAGE)
        return view(request, *behind, token, **more)

    return csrf_exempt(looked_up)


def shown(link: Link, version: Version, token: str, answers: dict[int, str], **more: Any) -> dict[str, Any]:
    """What the page, the review and the receipt are drawn from."""
    return {
        **queries.sheet(queries.body(version), answers),
        "version": version,
        "token": token,
        "nonce": nonce_of(link, version),
        **more,
    }


def closed(request: HttpRequest, link: Link, version: Version, token: str) -> HttpResponse | None:
    """The answer when the quote is not open: its receipt, or a calm page with our phone and nothing of the vehicle. None when open."""
    state = queries.standing(version, link)
    if state == "open":
        return None
    if state == "answered":
        if request.method == "POST":
            messages.info(request, _("This quote was answered before. What you just sent changed nothing."))
        return redirect("quotes:receipt", token=token)
    context = {"state": state, "page": queries.body(version), "version": version, **_successor(request, link, version, state)}
    return render(request, "quotes/_closed.html", context, status=CONFLICT if request.method == "POST" else GONE)


def _successor(request: HttpRequest, link: Link, version: Version, state: str) -> dict[str, Any]:
    """The newer quote, for the same person only, and what the same choice costs there."""
    newer = queries.newer(version) if state == "replaced" else None
    its_link = queries.link_of(newer) if newer else None
    if newer is None or its_link is None or its_link.for_whom != link.for_whom:
        return {"newer": newer}
    page, next_page = queries.body(version), queries.body(newer)
    answers = GoAheadForm(page, request.POST).answers if request.method == "POST" else {}
    numbers = [n for n, said in answers.items() if said == queries.ACCEPT] or [line["number"] for line in page["offered"]]
    context: dict[str, Any] = {"newer": newer, "newer_token": links.token_of(its_link)}
    if set(numbers) <= {line["number"] for line in next_page["offered"]}:
        before, after = queries.price(page, numbers).gross, queries.price(next_page, numbers).gross
        context |= {"numbers": numbers, "before": before, "after": after, "difference": after - before}
    return context


@public_headers
@require_http_methods(["GET", "HEAD", "POST"])
@of_link
def go_ahead(request: HttpRequest, link: Link, version: Version, token: str) -> HttpResponse:
    """The quote with its choices. A POST adds up the choice and stores nothing; htmx gets the pieces that change."""
    if answer := closed(request, link, version, token):
        return answer
    form = GoAheadForm(queries.body(version), request.POST if request.method == "POST" else None)
    return drawn(request, link, version, token, form)


def drawn(
    request: HttpRequest, link: Link, version: Version, token: str, form: GoAheadForm, *, refused: bool = False, **more: Any
) -> HttpResponse:
    """The quote page with what was chosen and typed so far; 422 with a sentence at each box when it was refused.

    Only an order is judged box by box: adding up, or a question, leaves the other boxes in peace.
    """
    if not refused:
        form.errors.clear()
    context = shown(link, version, token, form.answers, form=form, refused=refused, **more)
    if request.headers.get("HX-Request") and not refused:
        return render(request, "quotes/_choice.html", {**context, "piece": True})
    context["questions"] = queries.heard(version, link)
    return render(request, "quotes/go_ahead.html", context, status=UNFIT if refused or "asked" in more else 200)


@public_headers
@require_http_methods(["GET", "HEAD", "POST"])
@of_link
def review(request: HttpRequest, link: Link, version: Version, token: str) -> HttpResponse:
    """Everything once more, before it counts. Stores nothing. Opened without a choice it leads back to the choice."""
    if answer := closed(request, link, version, token):
        return answer
    if request.method != "POST":
        return redirect("quotes:go_ahead", token=token)
    form = GoAheadForm(queries.body(version), request.POST)
    if not form.is_valid():
        return drawn(request, link, version, token, form, refused=True)
    return render(
        request, "quotes/review.html", shown(link, version, token, form.answers, given=form.cleaned_data, request_uid=uuid.uuid4())
    )


@public_headers
@require_POST
@of_link
def order(request: HttpRequest, link: Link, version: Version, token: str) -> HttpResponse:
    """Takes the answer, once, and leads to its receipt."""
    form = OrderForm(queries.body(version), request.POST)
    if answer := _sent_again(request, link, version, token, form) or closed(request, link, version, token):
        return answer
    if not form.is_valid() or form.cleaned_data["total"] != _total(version, form):
        form.add_error(None, _("What was sent does not fit what was shown. Go over the order once more."))
        return drawn(request, link, version, token, form, refused=True)
    said = form.cleaned_data
    try:
        actions.answer(
            version,
            answers=form.answers,
            name=said["name"],
            standing=said["standing"],
            request_uid=said["request_uid"],
            actor=Actor.by_link(link.uid, said["name"]),
            address=client_address(request),
            browser=request.headers.get("User-Agent", ""),
        )
    except actions.Refused as refusal:
        return _overtaken(request, link, token, form, refusal)
    return redirect("quotes:receipt", token=token)


def _total(version: Version, form: GoAheadForm) -> Decimal:
    return queries.price_choice(version, [n for n, said in form.answers.items() if said == queries.ACCEPT]).gross


def _sent_again(request: HttpRequest, link: Link, version: Version, token: str, form: OrderForm) -> HttpResponse | None:
    """The same press twice: straight to the receipt, without a word about it. The same number with another answer: 409, and what stands."""
    if version.state != Version.State.ANSWERED or str(version.go_ahead.request_uid) != form.data.get("request_uid"):
        return None
    given = version.go_ahead
    if (
        form.answers != said_in(version)
        or form.data.get("name", "").strip()[:120] != given.by
        or form.data.get("standing") != given.standing
    ):
        messages.info(request, SAID_ELSE)
        return received(request, link, version, token, status=CONFLICT)
    return redirect("quotes:receipt", token=token)


def _overtaken(request: HttpRequest, link: Link, token: str, form: GoAheadForm, refusal: actions.Refused) -> HttpResponse:
    """Somebody was quicker, or the hour struck meanwhile: what holds now is shown."""
    version = queries.behind(link)
    if isinstance(refusal, actions.Conflict):
        return plain(
            errors.Trouble(CONFLICT, gettext_lazy("Sent before"), str(refusal), gettext_lazy("Open the link from our message again."))
        )
    form.add_error(None, str(refusal))
    return closed(request, link, version, token) or drawn(request, link, version, token, form, refused=True)


@public_headers
@require_POST
@of_link
def ask(request: HttpRequest, link: Link, version: Version, token: str) -> HttpResponse:
    """Keeps a question about a line and shows the page again, choices and all. The quote stays open."""
    if answer := closed(request, link, version, token):
        return answer
    form = GoAheadForm(queries.body(version), request.POST)
    number = request.POST.get("ask", "")
    text = request.POST.get(f"question{number}", "")
    try:
        actions.ask(Actor.by_link(link.uid, link.for_whom), version, number=int(number) if number.isdecimal() else 0, text=text)
    except actions.Refused as refusal:
        return drawn(request, link, version, token, form, asking=number, asked=str(refusal), typed=text)
    return drawn(request, link, version, token, form)


@public_headers
@require_safe
@of_link
def receipt(request: HttpRequest, link: Link, version: Version, token: str) -> HttpResponse:
    """What was answered, by whom and when, and the paper. It outlives the day until which the quote was open."""
    if queries.standing(version, link) != "answered":
        return closed(request, link, version, token) or redirect("quotes:go_ahead", token=token)
    return received(request, link, version, token)


def said_in(version: Version) -> dict[int, str]:
    """The answer to each line of an answered version: what it added to what was ordered before is accepted. No query."""
    accepted = set(version.go_ahead.set_after) - set(version.go_ahead.set_before)
    numbers = [line["number"] for line in queries.body(version)["offered"]]
    return {number: queries.ACCEPT if number in accepted else queries.NOT_NOW for number in numbers}


def received(request: HttpRequest, link: Link, version: Version, token: str, *, status: int = 200) -> HttpResponse:
    """The receipt of an answered version."""
    more = {"given": version.go_ahead, "questions": queries.heard(version, link), "progress": queries.progress(version)}
    context = shown(link, version, token, said_in(version), **more)
    return render(request, "quotes/receipt.html", context, status=status)


@public_headers
@require_safe
@of_link
def paper(request: HttpRequest, link: Link, version: Version, token: str) -> HttpResponse:
    """The stored PDF of exactly what was shown, byte for byte."""
    if queries.standing(version, link) != "answered" or version.go_ahead.paper_id is None:
        return nothing_here(request)
    response = HttpResponse(files.read(version.go_ahead.paper_id), content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="quote-{version.card}-{version.no}.pdf"'
    return response


@public_headers
@require_safe
@of_link
def picture(request: HttpRequest, link: Link, version: Version, token: str, uid: uuid.UUID) -> HttpResponse:
    """A photo of this quote, small, or whole with ?size=full. No other photo can be had through the link."""
    photo = queries.photos(queries.body(version)).get(str(uid))
    if photo is None or queries.standing(version, link) not in {"open", "answered"}:
        return nothing_here(request)
    sha256 = photo["full" if request.GET.get("size") == "full" else "small"]
    return HttpResponse(files.read(sha256), content_type=Blob.objects.get(pk=sha256).media_type)
