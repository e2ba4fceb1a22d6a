"""The house rules, executed. An exception is listed here with its reason or it is not one."""

import ast
import inspect
import re
import string
from collections.abc import Iterator
from pathlib import Path

import pytest
from django.apps import apps
from django.test import Client
from django.urls import URLPattern, URLResolver, get_resolver

from workshop.history import registry

ROOT = Path(__file__).resolve().parent.parent
WORKSHOP = ROOT / "workshop"
ROOMS = sorted(config.label for config in apps.get_app_configs() if config.name.startswith("workshop."))
CODE = sorted(path for path in WORKSHOP.rglob("*.py") if "migrations" not in path.parts)
LONGEST_FILE, LONGEST_FUNCTION = 400, 40
# What a package may hold besides the usual names, and why.
USUAL = {"__init__", "models", "queries", "actions", "pdf", "forms", "views", "public_views", "urls", "apps"}
ALSO = {
    "pages": {"context", "errors", "fields", "middleware", "roles", "where", "headers", "paper", "boxes", "logs"},  # what every page needs
    "history": {"registry", "triggers"},  # the one upward look, and SQL for migrations
    "staff": {"adapter"},  # allauth asks here
    "photos": {"develop"},  # the child process
    "company": {"context"},  # the one switch that every template may ask
    "upkeep": {"verify", "backup", "bench", "checks", "stock", "serve", "health"},  # one file a command
    "demo": {"build", "story", "people", "serve"},
}


def pages() -> Iterator[tuple[str, URLPattern]]:
    """Every page of ours as (package:page, pattern)."""

    def walk(resolver: URLResolver, namespace: str) -> Iterator[tuple[str, URLPattern]]:
        for entry in resolver.url_patterns:
            if isinstance(entry, URLResolver):
                yield from walk(entry, entry.namespace or namespace)
            elif namespace in ROOMS and entry.name:
                yield f"{namespace}:{entry.name}", entry

    yield from walk(get_resolver(), "")


PAGES = sorted(pages(), key=lambda page: page[0])
NAMES = [name for name, _ in PAGES]


def only_post(pattern: URLPattern) -> bool:
    """A button: its view stands under require_POST or takes PUT alone."""
    head = inspect.getsource(inspect.unwrap(pattern.callback)).split("def ")[0]
    return "@require_POST" in head or 'require_http_methods(["PUT"])' in head


def address(pattern: URLPattern, namespace_route: str = "") -> str:
    """An address of the page for things that do not exist."""
    from django.urls import reverse

    missing = {"int": 987654321, "uuid": "00000000-0000-4000-8000-000000000000", "str": "x" * 43, "slug": "x", "path": "x"}
    values = {
        name: missing[converter.__class__.__name__.removesuffix("Converter").lower().replace("string", "str")]
        for name, converter in pattern.pattern.converters.items()
    }
    return reverse(namespace_route, kwargs=values)


def test_every_view_bears_the_name_of_its_page() -> None:
    wrong = [name for name, pattern in PAGES if pattern.callback.__name__ != name.split(":")[1]]
    assert wrong == []


def test_every_page_has_its_test() -> None:
    missing = [name for name in NAMES if not _test_names(*name.split(":"))]
    assert missing == []


def _test_names(package: str, page: str) -> bool:
    return any(
        f"{package}:{page}" in path.read_text(encoding="utf-8")
        for path in (ROOT / "tests").rglob("test_*.py")
        if path.name != "test_house.py"
    )


def test_every_template_belongs_to_a_page() -> None:
    known = {name.replace(":", "/") for name in NAMES}
    strays = [
        str(path.relative_to(ROOT / "templates"))
        for path in (ROOT / "templates").rglob("*.html")
        if (parts := path.relative_to(ROOT / "templates").parts)[0] in ROOMS
        and parts[0] != "pages"
        and not path.stem.startswith("_")
        and parts[1] not in {"pdf", "mail"}
        and "/".join(parts).removesuffix(".html") not in known
    ]
    assert strays == []


def test_no_inline_style_or_script() -> None:
    """The customer's page carries its small style in one nonced element, so that the page is one request."""
    allowed = {"pages/public_base.html"}
    found = []
    for path in (ROOT / "templates").rglob("*.html"):
        name = str(path.relative_to(ROOT / "templates"))
        if name in allowed or "/pdf/" in name:
            continue
        if re.search(r"<style|\sstyle=|\son[a-z]+=|<script(?![^>]*\ssrc=)", path.read_text(encoding="utf-8")):
            found.append(name)
    assert found == []


def test_the_core_has_a_test_beside_every_module() -> None:
    modules = {path.stem for path in (WORKSHOP / "calc").glob("*.py")} - {"__init__"}
    assert modules - {path.stem.removeprefix("test_") for path in (ROOT / "tests/calc").glob("test_*.py")} == set()


def test_no_float_where_money_or_tax_is() -> None:
    found = []
    for path in [WORKSHOP / "calc" / f"{name}.py" for name in ("money", "tax", "labour", "ledger", "travel")] + CODE:
        room = path.relative_to(WORKSHOP).parts[0]
        if path.parent.name != "calc" and room not in {"invoices", "ledger", "bookkeeping", "quotes", "company"}:
            continue
        if path.parent.name == "calc" and path.stem not in {"money", "tax", "labour", "ledger", "travel"}:
            continue
        tree = ast.parse(path.read_text(encoding="utf-8"))
        found += [f"{path.name}:{n.lineno}" for n in ast.walk(tree) if isinstance(n, ast.Constant) and type(n.value) is float]
        found += [
            f"{path.name}:{n.lineno}"
            for n in ast.walk(tree)
            if isinstance(n, ast.Call) and isinstance(n.func, ast.Name) and n.func.id == "float"
        ]
    assert found == []


def test_every_recorded_event_has_its_sentence() -> None:
    told = registry.sentences()
    recorded = set()
    for path in CODE:
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            named = getattr(getattr(node, "func", None), "id", getattr(getattr(node, "func", None), "attr", ""))
            if isinstance(node, ast.Call) and named == "record" and node.args and isinstance(node.args[0], ast.Constant):
                recorded.add(node.args[0].value)
    assert recorded <= told.keys()
    for sentence in told.values():
        assert [name for _, name, _, _ in string.Formatter().parse(sentence) if name == ""] == []


def test_time_is_asked_of_the_clock() -> None:
    found = [
        f"{path.relative_to(ROOT)}:{number}"
        for path in CODE
        if path.name not in {"clock.py", "bootstrap.py", "testing.py"}
        for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1)
        if re.search(r"timezone\.now\(|datetime\.now\(|date\.today\(|\btime\.time\(", line)
    ]
    assert found == []


@pytest.mark.parametrize("name", [n for n, p in PAGES if only_post(p)])
def test_a_get_on_a_button_is_answered_with_405(name: str, as_owner: Client) -> None:
    assert as_owner.get(address(dict(PAGES)[name], name)).status_code == 405


@pytest.mark.parametrize("name", NAMES)
def test_a_stranger_is_sent_to_the_door(name: str, db: None) -> None:
    """Every page asks for login unless it is one of the pages by link or belongs to the door itself."""
    pattern = dict(PAGES)[name]
    answer = Client().generic("GET", address(pattern, name))
    if getattr(pattern.callback, "login_required", True):
        assert answer.status_code in {302, 401, 403, 405}, answer.status_code
    else:
        assert name == "company:first" or name.split(":", maxsplit=1)[0] in {"quotes", "invoices", "pages", "driveway", "scheduling"}, (
            f"{name} is open without a reason"
        )


@pytest.mark.parametrize("name", [n for n, p in PAGES if p.pattern.converters and n not in {"quotes:picture"}])
def test_what_does_not_exist_is_a_calm_404(name: str, as_owner: Client) -> None:
    pattern = dict(PAGES)[name]
    answer = as_owner.generic("POST" if only_post(pattern) else "GET", address(pattern, name))
    assert answer.status_code in {400, 404, 405}, answer.status_code


def test_sideways_and_upward_imports_that_the_linter_cannot_see() -> None:
    """Views, forms, urls and pdf are private to their package; foreign keys given as strings could point up the ladder."""
    found = []
    for path in CODE:
        room = path.relative_to(WORKSHOP).parts[0]
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.ImportFrom) and node.module:
                parts = node.module.split(".")
                names = parts[2:3] or [alias.name for alias in node.names]
                if (
                    parts[0] == "workshop"
                    and len(parts) > 1
                    and parts[1] != room
                    and set(names) & {"views", "forms", "urls", "pdf", "public_views"}
                ):
                    found.append(f"{path.relative_to(ROOT)}:{node.lineno}")
            if (
                isinstance(node, ast.Call)
                and getattr(node.func, "attr", "")
                in {
                    "ForeignKey",
                    "OneToOneField",
                    "ManyToManyField",
                    "get_model",
                }
                and node.args
                and isinstance(node.args[0], ast.Constant)
                and node.args[0].value != "self"
            ):
                found.append(f"{path.relative_to(ROOT)}:{node.lineno}")
    assert found == []


def test_packages_hold_the_usual_files() -> None:
    found = []
    for room in ROOMS:
        for path in (WORKSHOP / room).glob("*.py"):
            if path.stem not in USUAL | ALSO.get(room, set()):
                found.append(str(path.relative_to(ROOT)))
    assert found == []


def test_lengths() -> None:
    found = []
    for path in CODE:
        text = path.read_text(encoding="utf-8")
        if text.count("\n") > LONGEST_FILE:
            found.append(f"{path.relative_to(ROOT)} is {text.count(chr(10))} lines long")
        for node in ast.walk(ast.parse(text)):
            if isinstance(node, ast.FunctionDef) and (node.end_lineno or 0) - node.lineno + 1 > LONGEST_FUNCTION:
                found.append(f"{path.relative_to(ROOT)}:{node.lineno} {node.name}")
    assert found == []


def test_the_example_environment_names_every_setting() -> None:
    asked = set(re.findall(r'env(?:_flag)?\("([A-Z_]+)"', (WORKSHOP / "settings.py").read_text(encoding="utf-8")))
    shown = set(re.findall(r"^#? ?([A-Z_]+)=", (ROOT / ".env.example").read_text(encoding="utf-8"), re.M))
    assert asked - {"HARDSTAND_TEST"} == shown


def test_nothing_names_this_machine() -> None:
    texts = {".py", ".html", ".json", ".js", ".css", ".txt", ".toml", ".md"}
    folders = [ROOT / name for name in ("workshop", "tests", "templates", "fixtures", "static")]
    paths = [path for folder in folders for path in folder.rglob("*") if path.suffix in texts and path.name != "test_house.py"]
    found = [str(path.relative_to(ROOT)) for path in paths if re.search(r"/work/|\.\./shared|/tmp/hs", path.read_text(encoding="utf-8"))]
    assert found == []
