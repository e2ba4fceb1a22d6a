"""What is typed on the work sheets, read or refused with a sentence."""

from workshop.worksheets.forms.joints import JointForm, StrikeForm, TickForm, ValueForm
from workshop.worksheets.forms.parts import CorrectForm, FittingForm, LetGoForm, RowForm, TakeOffForm, TeachForm
from workshop.worksheets.forms.remembered import CloseForm, DeviationForm, FollowUpForm

__all__ = [
    "CloseForm",
    "CorrectForm",
    "DeviationForm",
    "FittingForm",
    "FollowUpForm",
    "JointForm",
    "LetGoForm",
    "RowForm",
    "StrikeForm",
    "TakeOffForm",
    "TeachForm",
    "TickForm",
    "ValueForm",
]
