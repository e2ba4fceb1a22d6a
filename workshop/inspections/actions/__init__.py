"""Look at the place, write down findings, say what caused what; put a finding or a photo where it belongs."""

from workshop.inspections.actions.codes import CodeIn, clear_codes, read_codes
from workshop.inspections.actions.findings import CONFIDENCE, add_finding, link_cause
from workshop.inspections.actions.intake import INTAKE, take_intake
from workshop.inspections.actions.lines import line_from_finding, mend_finding, offer_again
from workshop.inspections.actions.moves import move_finding, move_photo
from workshop.inspections.actions.photos import MOST_CLIPS, add_clip, add_photos, mark_photo, name_photo
from workshop.inspections.actions.site import Lone, check_in, check_site
from workshop.inspections.actions.tests import add_test, missing_in_test

EVENTS = {
    "inspections.site_checked": "looked at the place: {verdict}{why}",
    "inspections.checked_in": "checked in: all is well{then}",
    "inspections.taken_in": "took the vehicle in: {told}",
    "inspections.found": "found at {place}: {words} ({condition})",
    "inspections.tested": "tested at {place}: {words} ({condition}){ruled_out}",
    "inspections.codes_read": "read the fault codes {moment}: {told}",
    "inspections.codes_cleared": "said that the codes are gone from the vehicle: {how}",
    "inspections.cause_linked": "said that {cause} is the {confidence} cause of {effect}",
    "inspections.line_made": "made line {number} of the finding {finding}",
    "inspections.line_again": "took line {number}, {words}, over from card {earlier}, where it was not now",
    "inspections.finding_moved": "moved the finding {words} from card {from_card} to card {to_card}: {reason}",
    "inspections.photos_added": "added to “{words}”: {count}{role}",
    "inspections.clip_added": "added to “{words}”: a clip of {seconds} s",
    "inspections.photo_marked": "{what} a photo of “{words}”",
    "inspections.photo_named": "said that a photo of “{words}” shows it: {role}",
    "inspections.photo_moved": "moved a photo of {words} on card {from_card} to {to_words} on card {to_card}: {reason}",
}

__all__ = [
    "CONFIDENCE",
    "EVENTS",
    "INTAKE",
    "MOST_CLIPS",
    "CodeIn",
    "Lone",
    "add_clip",
    "add_finding",
    "add_photos",
    "add_test",
    "check_in",
    "check_site",
    "clear_codes",
    "line_from_finding",
    "link_cause",
    "mark_photo",
    "mend_finding",
    "missing_in_test",
    "move_finding",
    "move_photo",
    "name_photo",
    "offer_again",
    "read_codes",
    "take_intake",
]
