"""What a box says when it refuses: what is wrong, what is expected. In place of the framework's own sentences."""

from django import forms
from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

EMPTY = _("Empty. This box is needed.")
WORDS: dict[type[forms.Field], dict[str, str | Promise]] = {
    forms.Field: {"required": EMPTY},
    forms.IntegerField: {"invalid": _("Not a whole number. Write digits only.")},
    forms.FloatField: {"invalid": _("Not a number. Write digits and a point.")},
    forms.DecimalField: {"invalid": _("Not a number. Write digits and a point.")},
    forms.DateField: {"invalid": _("Not a day. Write it as 2026-12-04.")},
    forms.TimeField: {"invalid": _("Not a time. Write it as 08:30.")},
    forms.DateTimeField: {"invalid": _("Not a day and time. Write them as 2026-12-04 08:30.")},
    forms.ChoiceField: {"invalid_choice": _("Not one of the choices. Choose again.")},
    forms.TypedChoiceField: {"invalid_choice": _("Not one of the choices. Choose again.")},
    forms.MultipleChoiceField: {"invalid_choice": _("Not one of the choices. Choose again."), "invalid_list": _("Choose from the list.")},
    forms.ModelChoiceField: {"invalid_choice": _("Not one of the choices. Choose again.")},
    forms.URLField: {"invalid": _("Not an address. It begins with https://.")},
    forms.FileField: {"missing": _("No file came. Choose it again."), "empty": _("The file is empty. Choose another.")},
    forms.ImageField: {"invalid_image": _("Not a picture that can be read. Choose another.")},
    forms.UUIDField: {"invalid": _("Not a number of ours. Open the sheet anew.")},
}


def speak() -> None:
    """Puts our sentences in; a form's own `error_messages` still win."""
    for field, words in WORDS.items():
        field.default_error_messages = {**field.default_error_messages, **words}  # type: ignore[dict-item]
