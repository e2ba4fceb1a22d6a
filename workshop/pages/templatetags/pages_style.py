"""The small style and the few marks that a customer's page carries inside itself, so that it is one request."""

import re
from functools import lru_cache
from pathlib import Path

from django import template
from django.conf import settings
from django.contrib.staticfiles import finders
from django.utils.html import format_html
from django.utils.safestring import SafeString, mark_safe

register = template.Library()


def source(name: str) -> str:
    """The text of one of our own static files. FileNotFoundError when it is not there."""
    found = finders.find(name)
    if not found:
        raise FileNotFoundError(f"static/{name}")
    return Path(found).read_text(encoding="utf-8")


def squeezed(css: str) -> str:
    """The style without comments and line breaks."""
    bare = re.sub(r"/\*.*?\*/", "", css, flags=re.S)
    return re.sub(r"\s*([{};,])\s*", r"\1", re.sub(r"\s+", " ", bare)).strip()


@lru_cache(maxsize=8)
def kept_style(name: str) -> str:
    return squeezed(source(name))


@lru_cache(maxsize=8)
def kept_symbols(names: str) -> str:
    found = dict(re.findall(r'(?s)<symbol id="(\w+)"(.*?)</symbol>', source("pages/marks.svg")))
    return "".join(f'<symbol id="{name}"{found[name]}</symbol>' for name in names.split())


@register.simple_tag(takes_context=True)
def inline_style(context: template.Context, name: str) -> SafeString:
    """One `<style>` element with the nonce of this answer. The file is ours; nothing typed by anyone gets here."""
    css = squeezed(source(name)) if settings.DEBUG else kept_style(name)
    return format_html('<style nonce="{}">{}</style>', context.get("csp_nonce", ""), mark_safe(css))  # noqa: S308


@register.simple_tag
def symbols(names: str) -> SafeString:
    """The named marks as symbols, to be used as `#watch` on the same page."""
    return format_html('<svg class="hide" aria-hidden="true" focusable="false">{}</svg>', mark_safe(kept_symbols(names)))  # noqa: S308
