"""The style sheet keeps its promises: size, contrast, and one truth for the customer's copy."""

import gzip
import re
from itertools import product
from pathlib import Path

import pytest
from django.template import Context, Template

from workshop.pages.templatetags.pages_style import squeezed

ROOT = Path(__file__).resolve().parents[2]
BASE = (ROOT / "static/pages/base.css").read_text()
PUBLIC = (ROOT / "static/pages/public.css").read_text()
DAY = re.search(r":root \{(.*?)\n  \}", BASE, re.S)[1]
NIGHT = re.search(r':root\[data-theme="night"\] \{(.*?)\}', BASE, re.S)[1]


def packed(text):
    return len(gzip.compress(text.encode(), 9))


def test_the_one_sheet_fits_its_budget():
    assert packed(BASE) <= 8 * 1024


def test_the_customers_copy_fits_its_budget():
    assert packed(squeezed(PUBLIC)) <= 4.5 * 1024


def rules(css):
    bare = re.sub(r"/\*.*?\*/", "", css, flags=re.S)
    return {" ".join(rule.split()) for rule in re.findall(r"[^{}]+\{[^{}]*\}", bare)}


def test_every_rule_of_the_customers_copy_stands_in_the_one_sheet():
    assert rules(PUBLIC) - rules(BASE) == set()


def test_night_is_told_twice_the_same():
    followed = re.search(r':root:not\(\[data-theme="day"\]\) \{(.*?)\}', BASE, re.S)[1]
    assert tokens(followed) == tokens(NIGHT)


def tokens(text):
    return dict(re.findall(r"--([\w-]+): (#[0-9a-f]{3,6});", text))


def luminance(colour):
    """Relative luminance, WCAG 2.2, definition of that name (w3.org/TR/WCAG22/#dfn-relative-luminance)."""
    full = colour[1:] if len(colour) == 7 else "".join(c * 2 for c in colour[1:])
    parts = [int(full[i : i + 2], 16) / 255 for i in (0, 2, 4)]
    red, green, blue = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one, other):
    """Contrast ratio, WCAG 2.2 (w3.org/TR/WCAG22/#dfn-contrast-ratio)."""
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


@pytest.mark.parametrize("light", [DAY, NIGHT], ids=["day", "night"])
def test_text_is_seven_to_one_and_edges_three_to_one(light):
    colour = tokens(light)
    grounds = ("desk", "paper", "cell", "wash")
    for text, ground in product(("ink", "ink-2", "pen"), grounds):
        assert contrast(colour[text], colour[ground]) >= 7, (text, ground)
    for ground in grounds:
        assert contrast(colour["rule"], colour[ground]) >= 3, ground
    for text, ground in (("on-ink", "ink"), ("on-pen", "pen"), ("on-band", "band")):
        assert contrast(colour[text], colour[ground]) >= 7, (text, ground)


def test_black_on_white_is_twenty_one():
    assert contrast("#000", "#ffffff") == pytest.approx(21)


def test_the_inlined_style_carries_the_nonce_and_nothing_from_elsewhere():
    html = Template('{% load pages_style %}{% inline_style "pages/public.css" %}').render(Context({"csp_nonce": "abc"}))
    assert html.startswith('<style nonce="abc">')
    assert "url(" not in html
    assert "@import" not in html


def test_only_the_named_marks_are_carried():
    html = Template('{% load pages_style %}{% symbols "good stop" %}').render(Context())
    assert re.findall(r'symbol id="(\w+)"', html) == ["good", "stop"]


def test_no_smaller_text_than_sixteen_except_ticks_at_twice_the_size():
    sizes = re.findall(r"font-size: (\.\d+rem|\d+px|0[^;]*rem)", BASE)
    assert sizes == [".6875rem"]


def test_every_class_of_our_templates_is_in_the_sheet():
    known = set(re.findall(r"\.([a-z][\w-]*)", BASE))
    for file in (ROOT / "templates/pages").glob("*.html"):
        text = re.sub(r"\{%.*?%\}|\{\{.*?\}\}", " ", file.read_text())
        used = {name for group in re.findall(r'class="([^"]*)"', text) for name in group.split()}
        assert used <= known, (file.name, used - known)
