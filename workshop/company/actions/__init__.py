"""The verbs of the business: what stands on its paper, its prices, numbers, texts and people."""

from workshop.company.actions.business import change_identity, set_up
from workshop.company.actions.common import Refused, Stale
from workshop.company.actions.first import Closed, begin, offer_first
from workshop.company.actions.numbers import DateGoesBack, next_number, set_first_number
from workshop.company.actions.people import add_person, change_person
from workshop.company.actions.prices import set_call_out, set_rate
from workshop.company.actions.wordings import write_wording
from workshop.company.queries import tax_profile

EVENTS = {
    "company.set_up": "set up {name} with the tax profile {profile}",
    "company.changed": "changed on the sheet of the business: {what}",
    "company.rate_set": "set the hour of {rate_class} to {hour_amount} from {from_on}",
    "company.rate_mended": "put right the hour of {rate_class} from {from_on}: {hour_amount}, not {was_amount}",
    "company.call_out_set": "set the call-out rule from {from_on}: {base_amount}, {km_amount} a km after {free_km} km",
    "company.call_out_mended": "put right the call-out rule from {from_on}: {base_amount}, {km_amount} a km after {free_km} km",
    "company.series_begun": "let the {kind} numbers of {year} begin at {number}: {reason}",
    "company.worded": "wrote version {no} of the text {kind}",
    "company.person_added": "let {name} sign in as {role}",
    "company.person_changed": "changed {name}: {what}",
}

__all__ = [
    "EVENTS",
    "Closed",
    "DateGoesBack",
    "Refused",
    "Stale",
    "add_person",
    "begin",
    "change_identity",
    "change_person",
    "next_number",
    "offer_first",
    "set_call_out",
    "set_first_number",
    "set_rate",
    "set_up",
    "tax_profile",
    "write_wording",
]
