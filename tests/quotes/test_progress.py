"""Where the work is, in plain words on the receipt of the same link; and the invoice once there is one."""

import gzip
import uuid
from decimal import Decimal

import pytest
from django.urls import reverse

from tests.quotes.conftest import ADA
from tests.quotes.test_go_ahead import MOST_BYTES, MOST_QUERIES, path_of, words_of
from tests.quotes.test_review import ordered
from workshop import clock
from workshop.invoices import actions as invoices
from workshop.jobs.models import Episode, LinePart
from workshop.links.models import Link
from workshop.links.queries import token_of
from workshop.quotes import queries
from workshop.quotes.models import Version

pytestmark = pytest.mark.django_db


@pytest.fixture
def receipt(client, version):
    """What the receipt says; line 1 is ordered, line 2 is not."""
    ordered(client, version)
    return lambda: words_of(client.get(path_of(version, "receipt")))


def now(version):
    return queries.progress(Version.objects.select_related("card", "go_ahead").get(pk=version.pk))


def test_ordered_begun_ready_handed_over(receipt, version, card):
    line = card.lines.get(number=1)
    assert "Ordered. Work has not begun." in receipt()
    line.progress = "started"
    line.save()
    assert "Work has begun." in receipt()
    for state, words in (("ready", "Ready."), ("closed", "Handed over.")):
        card.state = state
        card.save()
        assert f"Where the work is{words}" in receipt().replace("Where the work is ", "Where the work is")


def test_a_counted_part_that_is_short_is_waited_for_until_its_line_is_done(receipt, version, card):
    LinePart.objects.filter(line__card=card, line__number=1).update(in_hand=0)
    assert "Waiting for a part. We go on when it is here." in receipt()
    card.lines.filter(number=1).update(progress="done")
    assert now(version) == "begun"


def test_a_part_of_a_line_that_was_not_ordered_is_not_waited_for(receipt, version, card):
    LinePart.objects.filter(line__card=card, line__number=2).update(in_hand=0)
    assert now(version) == "ordered"


def test_opening_is_work(receipt, version, card):
    Episode.objects.create(step=card.steps.get(position=5), opened_at=clock.now(), opened_by="Ada")
    assert now(version) == "begun"


def test_of_a_cancelled_card_and_of_nothing_ordered_it_says_nothing(client, version, card):
    ordered(client, version)
    card.state = "cancelled"
    card.save()
    assert now(version) == ""
    assert "Where the work is" not in words_of(client.get(path_of(version, "receipt")))


def test_the_invoice_stands_there_once_it_is_issued(client, receipt, version, card, django_assert_max_num_queries):
    assert "to pay by" not in receipt()
    card.lines.filter(number=1).update(progress="done", done_at=clock.now())
    document = invoices.issue_invoice(ADA, card, request_uid=uuid.uuid4())
    here = path_of(version, "receipt")
    with django_assert_max_num_queries(MOST_QUERIES):
        answer = client.get(here)
    assert len(gzip.compress(answer.content)) <= MOST_BYTES
    where = reverse("invoices:by_link", args=[token_of(Link.objects.get(purpose="invoice", subject_uid=document.uid))])
    assert f'href="{where}"' in answer.content.decode()
    assert f"{document.number}, 659.53" in receipt()
    assert "659.53 to pay by" in receipt()
    invoices.take_payment(
        ADA, document, amount=Decimal("659.53"), method="bank", paid_on=clock.today(), reference="", request_uid=uuid.uuid4()
    )
    assert "to pay by" not in receipt()
