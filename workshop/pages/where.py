"""Where the pieces of a page lie: one name, four trees."""

import inspect
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import urlsplit

from django.conf import settings
from django.template import TemplateDoesNotExist
from django.template.loader import get_template
from django.urls import Resolver404, resolve


class NoSuchPage(Exception):
    """The sentence to show."""


def first(root: Path, *names: str) -> str:
    """The first of these files that is there, as a path in the project, or nothing."""
    return next((name for name in names if (root / name).is_file()), "")


def view_place(view: object) -> str:
    """file:line of the view under its decorators."""
    bare = inspect.unwrap(view)  # type: ignore[arg-type]
    file, (_, line) = Path(inspect.getsourcefile(bare) or "?"), inspect.getsourcelines(bare)
    inside = file.is_relative_to(settings.BASE_DIR) and ".venv" not in file.parts
    return f"{file.relative_to(settings.BASE_DIR) if inside else file}:{line}"


def template_place(room: str, page: str) -> str:
    """The page's template in the project, or nothing."""
    try:
        origin = get_template(f"{room}/{page}.html").origin.name  # type: ignore[attr-defined]
    except TemplateDoesNotExist:
        return ""
    found = Path(origin)
    return str(found.relative_to(settings.BASE_DIR)) if found.is_relative_to(settings.BASE_DIR) else origin


def where(address: str) -> Iterator[tuple[str, str]]:
    """(what, place) of the page at an address like /m/card/1/. NoSuchPage when nothing answers there."""
    path = "/" + urlsplit(address.strip()).path.lstrip("/")
    try:
        match = resolve(path)
    except Resolver404:
        raise NoSuchPage(f"No page answers at {path}. An address looks like /m/card/1/.") from None
    room, _, page = match.view_name.partition(":" if ":" in match.view_name else "_")
    yield "page", match.view_name
    yield "view", view_place(match.func)
    root = Path(settings.BASE_DIR)
    yield "template", template_place(room, page)
    yield "style", first(root, f"static/{room}/{page}.css") or "static/pages/base.css"
    yield "script", first(root, f"static/{room}/{page}.js")
    yield "test", first(root, f"tests/{room}/test_{page}.py")
