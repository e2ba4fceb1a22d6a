"""Read findings and site checks."""

import json
import re
import uuid as uuids
from collections import Counter
from collections.abc import Iterable
from functools import cache
from typing import Any

from django.conf import settings
from django.db.models import Count, OuterRef, Prefetch, QuerySet, Subquery

from workshop.inspections.models import Cause, CodeRead, CodesCleared, FaultCode, Finding, FindingClip, FindingPhoto, Intake, SiteCheck
from workshop.jobs.models import Card

MOST_PLACES, OWN_PLACES, OFTEN = 6, 3, 3  # as many as a thumb chooses from; used three times is often


def of_card(card: Card) -> QuerySet[Finding]:
    """The card's findings as they were found, each with its test, its number of photos and the words of its cause. One query."""
    cause = Cause.objects.filter(effect=OuterRef("pk")).order_by("pk").values("cause__words")[:1]
    found = Finding.objects.filter(card=card).select_related("test")
    return found.annotate(photo_count=Count("photos"), because=Subquery(cause)).order_by("pk")


def finding(uid: uuids.UUID) -> Finding | None:
    """The finding with its card, photos, causes, effects and lines, or None."""
    photos = Prefetch("photos", FindingPhoto.objects.select_related("photo", "origin_card").order_by("pk"))
    clips = Prefetch("clips", FindingClip.objects.select_related("clip").order_by("pk"))
    found = Finding.objects.select_related("card__vehicle", "origin_card", "test").prefetch_related(
        photos, clips, "causes__cause", "effects__effect", "lines__line"
    )
    return found.filter(uid=uid).first()


def others(finding: Finding) -> QuerySet[Finding]:
    """The other findings of the card: what may have caused this one."""
    return Finding.objects.filter(card=finding.card_id).exclude(pk=finding.pk).order_by("pk")


def last_site_check(card: Card) -> SiteCheck | None:
    """The newest look at the place, or None."""
    return SiteCheck.objects.filter(card=card).order_by("-at", "-pk").first()


def called_before(name: str) -> dict[str, str]:
    """Whom this person named the last time to be called: call_name and call_phone, or nothing. One query."""
    alone = SiteCheck.objects.filter(by=name, alone=True)  # the few that an index holds
    told = alone.exclude(call_name="").order_by("-at", "-pk").first()
    return {"call_name": told.call_name, "call_phone": told.call_phone} if told else {}


def check_ins() -> list[SiteCheck]:
    """Whoever works alone and has not checked in yet, on any card, the earliest first. One query."""
    waiting = SiteCheck.objects.filter(check_in_at__isnull=False).select_related("card__vehicle")
    return list(waiting.order_by("check_in_at"))


def last_intake(card: Card) -> Intake | None:
    """The newest intake with its readings, or None. One query."""
    return Intake.objects.filter(card=card).select_related("km", "hours").order_by("-at", "-pk").first()


def code_reads(card: Card) -> list[CodeRead]:
    """The card's reads of fault codes, oldest first, each with its codes. Two queries."""
    codes = Prefetch("codes", FaultCode.objects.order_by("pk"))
    return list(CodeRead.objects.filter(card=card).prefetch_related(codes).order_by("at", "pk"))


def codes_cleared(card: Card) -> list[CodesCleared]:
    """When codes went from the vehicle, oldest first. One query."""
    return list(CodesCleared.objects.filter(card=card).order_by("at", "pk"))


def compared(reads: list[CodeRead]) -> dict[str, list[FaultCode]] | None:
    """All that was read before the work against the last read after it: gone, not read again, still there, new. None without one of each.

    A code is gone when the read after names its module, or says: none stored. Of a module that was not read again nothing is known."""
    before = [read for read in reads if read.moment == CodeRead.Moment.BEFORE]
    after = [read for read in reads if read.moment == CodeRead.Moment.AFTER]
    if not before or not after:
        return None
    was = {(code.module.casefold(), code.code): code for read in before for code in read.codes.all()}
    now = {(code.module.casefold(), code.code): code for code in after[-1].codes.all()}
    lost = [code for key, code in was.items() if not _among(key, now)]
    read_again = {module for module, _ in now}
    unknown = [code for code in lost if now and code.module.casefold() not in read_again]
    return {
        "gone": [code for code in lost if code not in unknown],
        **({"not read again": unknown} if unknown else {}),
        "still there": [code for key, code in now.items() if _among(key, was)],
        "new": [code for key, code in now.items() if not _among(key, was)],
    }


def _among(key: tuple[str, str], codes: dict[tuple[str, str], FaultCode]) -> bool:
    """Whether the code is there, of the same module or where one of the two names none."""
    module, code = key
    return any(code == other and (module == named or not module or not named) for named, other in codes)


def places(card: Card | None) -> tuple[list[str], set[str]]:
    """The places to tap, at most MOST_PLACES: those of this card, those used most of late, the usual ones; and all that were meant.

    Two queries that read the card's findings and the last 200 of the business, however many there are."""
    usual = {row["name"].casefold(): row["name"] for row in listed("places")}
    own = list(card.findings.order_by("-pk").values_list("place", flat=True)[:50]) if card else []
    late = list(Finding.objects.order_by("-pk").values_list("place", flat=True)[:200])
    here = dict.fromkeys(usual.get(place.casefold(), place) for place in own)
    times = Counter(usual.get(place.casefold(), place) for place in late)
    often = [place for place, count in times.most_common() if count >= OFTEN]
    shown = list(dict.fromkeys([*list(here)[:OWN_PLACES], *often, *usual.values()]))[:MOST_PLACES]
    order = {name: rank for rank, name in enumerate(usual.values())}
    return sorted(shown, key=lambda name: (order.get(name, len(order)), name)), {*order, *own, *late}


@cache
def listed(name: str) -> list[dict[str, Any]]:
    """The rows of fixtures/<name>.json: cautions (with their source) or places."""
    rows: list[dict[str, Any]] = json.loads((settings.BASE_DIR / "fixtures" / f"{name}.json").read_text(encoding="utf-8"))["rows"]
    return rows


def cautions(*topics: str) -> list[dict[str, Any]]:
    """The cautions on these topics, in the order of the file."""
    return [row for row in listed("cautions") if row["topic"] in topics]


WORDS = ("danger", "warning", "caution", "notice")  # the highest first, ANSI Z535.4-2007, 4.14


def cautions_met(*texts: str) -> list[dict[str, Any]]:
    """The cautions whose system these words name, the highest signal word first. It only reminds: words it does not know meet nothing."""
    said = " ".join(texts)
    met = [row for row in listed("cautions") if any(re.search(rf"\b{re.escape(begin)}", said, re.I) for begin in row["meets"])]
    return sorted(met, key=lambda row: WORDS.index(row["word"]))


def highest_word(rows: list[dict[str, Any]]) -> str:
    """The one signal word of several cautions in one box: the highest wins (ANSI Z535.4). Empty when there are none."""
    return min((row["word"] for row in rows), key=WORDS.index, default="")


def shown_photo(pk: int) -> FindingPhoto | None:
    """A photo on its finding, with card and vehicle, or None."""
    return FindingPhoto.objects.select_related("photo", "finding__card__vehicle", "origin_card").filter(pk=pk).first()


def photo_of(finding: uuids.UUID, photo: uuids.UUID) -> FindingPhoto | None:
    """A photo as it hangs on a finding, with card and vehicle, or None. One query."""
    found = FindingPhoto.objects.select_related("photo", "finding__card__vehicle").filter(finding__uid=finding, photo__uid=photo)
    return found.order_by("pk").first()


def side_by_side(photos: Iterable[FindingPhoto]) -> list[FindingPhoto]:
    """Photos in the order they are compared: as it was, as it should be, after the work, then the rest as they came."""
    order = [*FindingPhoto.Role.values, ""]
    return sorted(photos, key=lambda shown: order.index(shown.role))


def moved_away(card: Card) -> tuple[list[Finding], list[FindingPhoto]]:
    """What was first written on this card and stands on another now: findings and photos. Two queries."""
    findings = card.findings_moved_away.exclude(card=card).select_related("card").order_by("pk")
    photos = card.photos_moved_away.exclude(finding__card=card).select_related("photo", "finding__card").order_by("pk")
    return list(findings), list(photos)
