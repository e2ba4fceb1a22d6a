"""What is tapped on the photo of a finding."""

from typing import Any

from django import forms
from django.http import QueryDict

from workshop.inspections.models import THOUSAND, FindingPhoto
from workshop.pages.boxes import one_of

WIDTHS = (288, 320, 576)  # px; each is its own button, so the name that comes back tells how wide the photo was drawn
NINTHS = {
    f"{y} {x}".strip() if (y, x) != ("", "") else "middle": (left, top)
    for y, top in (("top", 167), ("", 500), ("bottom", 833))
    for x, left in (("left", 167), ("", 500), ("right", 833))
}
BESIDE = "That is beside the photo. Tap the place on it."
BY_KEYS = "The photo itself takes a finger or a mouse. With keys, choose one of the nine places under it."


def height_of(shown: FindingPhoto, width: int) -> int:
    """How high the photo is drawn, px, when it is drawn so wide."""
    return max(round(width * shown.photo.height / shown.photo.width), 1)


def tapped(typed: QueryDict, shown: FindingPhoto) -> tuple[int, int] | None:
    """Where the ring goes, thousandths; None takes it off. ValueError with a sentence when nothing or nonsense was tapped.

    A picture as a button sends where it was tapped, in px from its corner: HTML Standard, 4.10.5.1.19 (image button); pressed by key
    it sends nought and nought."""
    if "off" in typed:
        return None
    if ninth := NINTHS.get(typed.get("ninth", "")):
        return ninth
    for width in WIDTHS:
        if f"w{width}.x" in typed:
            return _thousandths(typed.get(f"w{width}.x", ""), typed.get(f"w{width}.y", ""), width, height_of(shown, width))
    raise ValueError("Nothing was tapped. Tap the place on the photo.")


def _thousandths(x: str, y: str, width: int, height: int) -> tuple[int, int]:
    if not all(figure.isascii() and figure.isdigit() and len(figure) <= 5 for figure in (x, y)):
        raise ValueError(BESIDE)
    if int(x) == int(y) == 0:
        raise ValueError(BY_KEYS)
    if int(x) > width or int(y) > height:
        raise ValueError(BESIDE)
    return min(round(int(x) * THOUSAND / width), THOUSAND), min(round(int(y) * THOUSAND / height), THOUSAND)


class RoleForm(forms.Form):
    """What a photo stands for in a comparison."""

    role = one_of("It shows", [*FindingPhoto.Role.choices, ("none", "no comparison")], "Choose one of these.")

    def clean_role(self) -> Any:
        """The role; empty for none."""
        return "" if self.cleaned_data["role"] == "none" else self.cleaned_data["role"]
