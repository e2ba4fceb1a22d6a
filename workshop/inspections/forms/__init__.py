"""What is typed on the sheets of a look, read or refused with a sentence."""

from workshop.inspections.forms.codes import ClearForm, CodesForm
from workshop.inspections.forms.findings import MOST_PHOTOS, CauseForm, FindingForm
from workshop.inspections.forms.places import CheckInForm, IntakeForm, SiteCheckForm
from workshop.inspections.forms.tests import TestForm

__all__ = ["MOST_PHOTOS", "CauseForm", "CheckInForm", "ClearForm", "CodesForm", "FindingForm", "IntakeForm", "SiteCheckForm", "TestForm"]
