"""How numbers are written: common practice, no source; the space before a unit: SI Brochure, 9th edition, 5.4.3."""

import datetime as dt
from decimal import Decimal

import pytest
from django.template import Context, Template

from workshop import clock
from workshop.pages.templatetags import pages_format as write

UTC = dt.UTC


@pytest.mark.parametrize(
    ("amount", "written"),
    [
        ("1028.09", "1,028.09"),
        ("0", "0.00"),
        ("-499.8", "−499.80"),
        ("1234567.5", "1,234,567.50"),
        ("150", "150.00"),
    ],
)
def test_money_has_two_places_and_commas(amount, written):
    assert write.money(Decimal(amount)) == written


def test_money_refuses_a_float():
    with pytest.raises(TypeError):
        write.money(1028.09)


def test_money_refuses_a_third_place():
    with pytest.raises(ValueError, match="two places"):
        write.money(Decimal("1.005"))


def test_nothing_is_written_as_nothing():
    assert [write.money(None), write.quantity(""), write.day(None), write.clock(None), write.percent(None)] == [""] * 5


@pytest.mark.parametrize(("change", "written"), [("-289.62", "289.62 less"), ("368.56", "368.56 more"), ("0.00", "the same")])
def test_a_choice_is_told_as_a_difference(change, written):
    assert write.difference(Decimal(change)) == written


def test_a_quantity_keeps_its_places_and_its_unit():
    assert write.quantity(Decimal("4.80"), "mm") == "4.80\N{NO-BREAK SPACE}mm"
    assert write.quantity(15, "N·m") == "15\N{NO-BREAK SPACE}N·m"
    assert write.km(92400) == "92,400\N{NO-BREAK SPACE}km"
    assert write.percent(Decimal("22.00")) == "22\N{NO-BREAK SPACE}%"
    assert write.percent(Decimal("2.50")) == "2.5\N{NO-BREAK SPACE}%"


def test_days_on_screen_and_on_paper():
    with clock.frozen(dt.datetime(2026, 11, 25, 9, 0, tzinfo=UTC)):
        assert write.day(dt.date(2026, 12, 4)) == "Fri 4 Dec"
        assert write.day(dt.date(2028, 12, 4)) == "Mon 4 Dec 2028"
        assert write.paper_day(dt.date(2026, 12, 4)) == "2026-12-04"


def test_a_moment_is_told_in_the_business_time_zone(settings):
    settings.TIME_ZONE = "Europe/Vienna"
    with clock.frozen(dt.datetime(2026, 11, 25, 9, 0, tzinfo=UTC)):
        assert write.moment(dt.datetime(2026, 11, 25, 9, 12, tzinfo=UTC)) == "Wed 25 Nov, 10:12"


def test_a_mark_is_a_shape_with_its_word():
    html = Template('{% load pages_format %}{% mark "watch" %}').render(Context())
    assert 'marks.svg#watch"' in html
    assert 'aria-hidden="true"' in html
    assert html.strip().endswith("</svg>watch</span>")


def test_inside_a_customers_page_the_shape_is_on_the_page_itself():
    html = Template('{% load pages_format %}{% mark "stop" "lg" "Do not drive." %}').render(Context({"inside": True}))
    assert 'href="#stop"' in html
    assert "Do not drive." in html
