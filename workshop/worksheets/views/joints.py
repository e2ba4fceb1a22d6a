"""The tightening sheet of a card."""

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST, require_safe

from workshop.history.actions import acting
from workshop.jobs.actions import Refused
from workshop.jobs.models import Card, Line
from workshop.pages.roles import for_roles, get_or_post, refuse
from workshop.specifications.actions import Refused as ValueRefused
from workshop.worksheets import actions, queries
from workshop.worksheets.forms import JointForm, StrikeForm, TickForm, ValueForm
from workshop.worksheets.models import Joint
from workshop.worksheets.views.common import READERS, WRITERS, found_card, works


def found_joint(pk: int) -> Joint:
    """The joint or a calm 404."""
    joint = queries.joint(pk)
    if joint is None:
        raise Http404
    return joint


@require_safe
@for_roles(*READERS)
def tightening(request: HttpRequest, pk: int) -> HttpResponse:
    """Every joint of the card with its value, its source and its ticks."""
    return sheet(request, found_card(pk))


def sheet(request: HttpRequest, card: Card, refused: Joint | None = None, form: TickForm | None = None, status: int = 200) -> HttpResponse:
    """The sheet, with the form of one joint as it was refused."""
    every = list(queries.joints_of(card))
    standing = [joint for joint in every if not joint.struck_at and joint.line.answer != Line.Answer.WITHDRAWN]
    joints = [
        (joint, queries.workable(joint), queries.good_tick(joint), form if joint == refused else TickForm(auto_id=f"id_{joint.pk}_%s"))
        for joint in standing
    ]
    off = [joint for joint in every if joint not in standing]
    context = {"card": card, "joints": joints, "off": off, "works": works(request, card), "refused": form}
    context["recheck"] = queries.wheels_to_recheck(standing, queries.of_card(card))
    return render(request, "worksheets/tightening.html", context, status=status)


@require_POST
@for_roles(*WRITERS)
def tick(request: HttpRequest, pk: int) -> HttpResponse:
    """Writes down what the tool showed on a joint."""
    joint = found_joint(pk)
    form = TickForm(request.POST, auto_id=f"id_{joint.pk}_%s")
    if form.is_valid():
        typed = form.cleaned_data
        try:
            actions.tick_joint(acting(request), joint, typed["shown"], typed["unit"], typed["tool"], uid=typed["uid"])
        except Refused as refused:
            form.add_error("shown", str(refused))
        else:
            return redirect("worksheets:tightening", joint.line.card_id)
    return sheet(request, joint.line.card, joint, form, 422)


@get_or_post
@for_roles(*WRITERS)
def joint_new(request: HttpRequest, pk: int) -> HttpResponse:
    """A joint of one of the card's lines, with its value and source if there is one."""
    card = found_card(pk)
    form = JointForm(card, request.POST or None, initial={"fasteners": 1, "line": request.GET.get("line", "")[:18]})
    context: dict[str, Any] = {"form": form, "card": card}
    if request.method != "POST":
        return render(request, "worksheets/joint_new.html", context)
    if form.is_valid():
        typed = form.cleaned_data
        try:
            joint = actions.add_joint(
                acting(request), typed["line"], typed["component"], typed["fasteners"], form.value_or_none(), uid=typed["uid"]
            )
        except (Refused, ValueRefused) as refused:
            form.add_error(None, str(refused))
        else:
            messages.success(request, f"Joint {joint.position} is on the sheet: {joint.component}")
            return redirect("worksheets:tightening", card.pk)
    return refuse(request, "worksheets/joint_new.html", context)


@get_or_post
@for_roles(*WRITERS)
def value_new(request: HttpRequest, pk: int) -> HttpResponse:
    """A value with its source for a joint that has none, or a better one."""
    joint = found_joint(pk)
    form = ValueForm(request.POST or None)
    context: dict[str, Any] = {"form": form, "joint": joint, "card": joint.line.card}
    if request.method != "POST":
        return render(request, "worksheets/value_new.html", context)
    if form.is_valid():
        try:
            actions.give_value(acting(request), joint, form.value())
        except (Refused, ValueRefused) as refused:
            form.add_error(None, str(refused))
        else:
            return redirect("worksheets:tightening", joint.line.card_id)
    return refuse(request, "worksheets/value_new.html", context)


@get_or_post
@for_roles(*WRITERS)
def joint_strike(request: HttpRequest, pk: int) -> HttpResponse:
    """A joint that does not belong on the sheet."""
    joint = found_joint(pk)
    form = StrikeForm(request.POST or None)
    context: dict[str, Any] = {"form": form, "joint": joint, "card": joint.line.card}
    if request.method != "POST":
        return render(request, "worksheets/joint_strike.html", context)
    if form.is_valid():
        try:
            actions.strike_joint(acting(request), joint, form.cleaned_data["reason"])
        except Refused as refused:
            form.add_error(None, str(refused))
        else:
            messages.success(request, f"Joint {joint.position} is off the sheet. It stays below with its reason.")
            return redirect("worksheets:tightening", joint.line.card_id)
    return refuse(request, "worksheets/joint_strike.html", context)
