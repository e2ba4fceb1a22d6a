"""A day to close through, and reasons."""

from django import forms

from workshop.bookkeeping.forms.span import day_field
from workshop.pages.boxes import Words

NO_REASON = "Empty. Write why: it stays on file with your name."


class CloseForm(forms.Form):
    """The last day that is done."""

    use_required_attribute = False
    through_on = day_field("Close through")
    reason = Words("Why", 200, empty=NO_REASON, hint="Like: October is filed.")


class ReasonForm(forms.Form):
    """Why something is undone or written anew; `about` names what the sheet showed."""

    use_required_attribute = False
    about = forms.CharField(widget=forms.HiddenInput, required=False, max_length=40)
    reason = Words("Why", 200, empty=NO_REASON)
