"""Tax profiles are data: each can be set up, each rate has a day and a source."""

import datetime as dt
import json
import re
import uuid
from decimal import Decimal

import pytest
from django.conf import settings
from lxml import html

from workshop.calc import tax
from workshop.company import actions, queries
from workshop.history.actions import Actor

FOLDER = settings.BASE_DIR / "fixtures/tax"
NAMES = sorted(path.stem for path in FOLDER.glob("*.json"))


def test_the_three_profiles_are_there():
    assert NAMES == ["australia", "unregistered", "vellmark"]


@pytest.mark.parametrize("name", NAMES)
def test_each_says_all_that_papers_need_and_where_it_is_written(name):
    profile = actions.tax_profile(name)
    assert profile["profile"] == name
    assert profile["basis"] in {"exclusive", "inclusive"}
    assert profile["rounding"] in profile["rounding_choices"]
    assert set(profile["rounding_choices"]) <= {"total", "line"}
    assert Decimal(profile["cash_step"]) >= Decimal("0.01")
    assert profile["registration"]["word"]
    for rate in profile["rates"]:
        assert 0 < tax.require_rate(Decimal(rate["rate"])) < 1
        assert dt.date.fromisoformat(rate["from_on"]) and rate["source"] and rate["name"] and rate["code"]
    for words in ("source", "rounding_source", "cash_source"):
        assert profile[words]


def test_the_unregistered_one_has_no_word_of_tax():
    assert "tax" not in json.dumps(actions.tax_profile("unregistered")).lower()
    assert actions.tax_profile("unregistered")["rates"] == []


@pytest.mark.django_db
def test_australia_has_a_tenth_and_leaves_the_choice_of_rounding():
    """GST Act 1999 s 9-70: 10 % of the value. s 9-90: total invoice or line by line; 3 x 0.45 is 0.14 or 0.15 (own sum, by hand)."""
    actions.set_up(Actor.system("t"), name="A", address="B", phone="1", tax_profile_name="australia")
    rate = queries.tax_rate_on("standard", dt.date(2026, 11, 25))
    assert (rate, queries.company().currency) == (Decimal("0.1"), "AUD")
    lines = [tax.Line(Decimal("0.45"), "standard", rate)] * 3
    given = [tax.document(lines, per=per).tax for per in actions.tax_profile("australia")["rounding_choices"]]
    assert given == [Decimal("0.14"), Decimal("0.15")]
    with pytest.raises(LookupError):
        queries.tax_rate_on("standard", dt.date(2000, 6, 30))


def test_a_profile_there_is_not_is_said():
    with pytest.raises(LookupError, match="There is no tax profile moon"):
        actions.tax_profile("moon")


@pytest.mark.parametrize("name", NAMES)
def test_accounts_come_with_each_profile(name):
    """Plain-text accounting's five kinds of account (hledger.org, "account types"), and one account for each case once."""
    accounts = json.loads((settings.BASE_DIR / "fixtures/accounts" / f"{name}.json").read_text())["accounts"]
    cases = [tuple(row.get(key, "") for key in ("role", "line_kind", "tax_code", "customer_kind")) for row in accounts]
    assert len(set(cases)) == len(cases)
    assert {row["name"].split(":")[0] for row in accounts} <= {"Assets", "Liabilities", "Equity", "Income", "Expenses"}
    codes = {rate["code"] for rate in actions.tax_profile(name)["rates"]}
    assert {row.get("tax_code", "") for row in accounts} <= {*codes, ""}
    assert {row["tax_code"] for row in accounts if row["role"] == "output_tax"} == codes


def words(answer):
    """The words of a page, those of neighbours apart."""
    return " ".join(html.fromstring(answer.content.decode()).itertext()).lower()


UNREGISTERED = {"name": "A", "address": "B", "phone": "1", "tax_profile_name": "unregistered", "country": "Vellmark"}


@pytest.mark.django_db
def test_a_business_without_registration_prices_without(held_clock):
    assert not queries.taxed()
    with pytest.raises(LookupError):
        queries.tax_rate_on("standard", dt.date(2026, 11, 25))  # nothing is set up: nothing is known
    actions.set_up(Actor.system("t"), **UNREGISTERED)
    assert queries.tax_rate_on("standard", dt.date(2026, 11, 25)) == 0
    assert not queries.taxed()


@pytest.mark.django_db
def test_a_registered_one_is_taxed_and_lacks_a_rate_before_its_day(company):
    assert queries.taxed()
    with pytest.raises(LookupError):
        queries.tax_rate_on("standard", dt.date(2019, 12, 31))
    with pytest.raises(LookupError):
        queries.tax_rate_on("reduced", dt.date(2026, 11, 25))


@pytest.mark.django_db
def test_the_owners_sheets_have_no_word_of_it_without_registration(as_owner):
    actions.set_up(Actor.system("t"), **UNREGISTERED)
    actions.set_rate(Actor.system("t"), "workshop", dt.date(2020, 1, 1), Decimal("78.00"))
    for sheet in ("", "identity/", "rates/", "call-out/", "series/", "wordings/", "people/"):
        said = words(as_owner.get(f"/company/{sheet}"))
        assert not re.search(r"\btax|\bnet\b|\bgst\b|\bvat\b", said), (sheet, re.search(r".{20}(\btax|\bnet\b).{20}", said))


@pytest.mark.django_db
def test_a_registered_business_reads_that_prices_are_net(company, as_owner):
    for sheet in ("", "rates/"):
        assert re.search(r"\bnet\b", words(as_owner.get(f"/company/{sheet}")))


@pytest.mark.django_db
def test_a_whole_job_without_registration(held_clock):
    """Priced, quoted, accepted, invoiced, paid and written into the books: what is net is gross, and no posting is of tax."""
    from tests.invoices import making
    from workshop.invoices import actions as invoices
    from workshop.invoices.models import DocTax, Document
    from workshop.ledger.models import Posting
    from workshop.upkeep import verify

    actions.set_up(Actor.system("t"), **UNREGISTERED)
    actions.set_rate(Actor.system("t"), "workshop", dt.date(2020, 1, 1), Decimal("78.00"))
    card = making.card_of()
    lines = making.belt_and_pump(card)
    making.accept(card)
    making.finish(*lines.values())
    invoices.issue_invoice(making.ADA, card, request_uid=uuid.uuid4())
    document = Document.objects.get()
    assert document.gross_amount == document.net_amount > 0
    assert document.tax_amount == 0
    assert set(DocTax.objects.values_list("tax_amount", flat=True)) <= {Decimal(0)}
    assert not Posting.objects.filter(role="output_tax").exists()
    assert list(verify.problems()) == []
