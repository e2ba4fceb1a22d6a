"""Draws the home-screen icons: a paper card with one cut corner."""

from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand
from PIL import Image, ImageDraw

DESK, INK, PAPER = "#e9e2d2", "#1c1a16", "#fcf8ee"
CARD, LINES = [(3, 3), (22, 3), (29, 10), (29, 29), (3, 29)], [(7, 13, 25, 16), (7, 19, 25, 22)]  # static/pages/icon.svg, 32 wide


def icon(side: int, share: float, ground: str | None) -> Image.Image:
    """The card on a square; `share` of the side is what the drawing takes. A maskable icon keeps within the middle 80 %."""
    big = side * 4  # drawn large, then made small: smooth edges
    picture = Image.new("RGBA", (big, big), ground or (0, 0, 0, 0))
    draw, step, edge = ImageDraw.Draw(picture), big * share / 32, big * (1 - share) / 2
    draw.polygon([(edge + x * step, edge + y * step) for x, y in CARD], fill=INK)
    for box in LINES:
        draw.rectangle([edge + at * step for at in box], fill=PAPER)
    return picture.resize((side, side), Image.Resampling.LANCZOS)


class Command(BaseCommand):
    help = "Draws static/driveway/icon-*.png anew."

    def handle(self, *args: Any, **options: Any) -> None:
        for name, side, share, ground in (("icon-192", 192, 1, None), ("icon-512", 512, 1, None), ("icon-512-mask", 512, 0.66, DESK)):
            icon(side, share, ground).save(Path(settings.BASE_DIR) / f"static/driveway/{name}.png", optimize=True)
