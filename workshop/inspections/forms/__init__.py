"""What is typed on the sheets of a look, read or refused with a sentence."""

from workshop.inspections.forms.findings import MOST_PHOTOS, CauseForm, FindingForm
from workshop.inspections.forms.places import IntakeForm, SiteCheckForm

__all__ = ["MOST_PHOTOS", "CauseForm", "FindingForm", "IntakeForm", "SiteCheckForm"]
