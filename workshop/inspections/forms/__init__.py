"""What is typed on the sheets of a look, read or refused with a sentence."""

from workshop.inspections.forms.codes import ClearForm, CodesForm
from workshop.inspections.forms.findings import MOST_PHOTOS, CauseForm, FindingForm
from workshop.inspections.forms.photos import NINTHS, WIDTHS, RoleForm, height_of, tapped
from workshop.inspections.forms.places import CheckInForm, IntakeForm, SiteCheckForm
from workshop.inspections.forms.tests import TestForm

__all__ = [
    "MOST_PHOTOS",
    "NINTHS",
    "WIDTHS",
    "CauseForm",
    "CheckInForm",
    "ClearForm",
    "CodesForm",
    "FindingForm",
    "IntakeForm",
    "RoleForm",
    "SiteCheckForm",
    "TestForm",
    "height_of",
    "tapped",
]
