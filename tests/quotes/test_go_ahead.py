"""The customer's page (quotes:go_ahead). Figures: the house's worked example."""

import gzip
import hashlib
import re
from io import StringIO

import pytest
from django.core.management import call_command
from django.template import Context, Template
from django.test import Client
from django.urls import reverse
from lxml import html

from tests.quotes.conftest import ADA, in_hours
from workshop import clock
from workshop.links.queries import token_of
from workshop.pages.headers import LINK_HEADERS
from workshop.quotes import actions, queries

pytestmark = pytest.mark.django_db
MOST_BYTES, MOST_QUERIES = 14 * 1024, 6


def page_of(response):
    return html.fromstring(response.content.decode())


def words_of(response):
    return " ".join(page_of(response).text_content().split())


def everything_kept():
    out = StringIO()
    call_command("dumpdata", "--all", stdout=out)
    return hashlib.sha256(out.getvalue().encode()).hexdigest()


def path_of(version, page="go_ahead"):
    return reverse(f"quotes:{page}", args=[token_of(queries.link_of(version))])


def test_it_says_in_order_who_what_and_whether_it_may_be_driven(client, version, address):
    words = words_of(client.get(address))
    told = [
        "Quillfeather Mobile Diesel",
        "26-0118 / 1",
        "plate ending MO-2",
        "Osgood Plumtree",
        "Make it so I come home.",
        "Gently, to home. Not on the trip.",
        "Timing belt kit",
        "Coolant pump",
        "Opening and closing",
        "Choose for each line. No answer means not ordered.",
        "What happens next",
        "Your name",
        "Go over the order",
        "Licence VM-4471",
    ]
    places = [words.index(piece) for piece in told]
    assert places == sorted(places)


def test_nothing_is_ticked_beforehand(client, version, address):
    page = page_of(client.get(address))
    assert page.xpath("//input[@checked]") == []
    assert page.xpath("string(//*[@id='sum'])") == "0.00"
    assert len(page.xpath("//fieldset[contains(@class, 'pair')]//input[@type='radio']")) == 4


def test_alone_each_line_carries_the_whole_opening(client, version, address):
    words = words_of(client.get(address))
    assert "On its own, with opening: 659.53" in words
    assert "On its own, with opening: 738.47" in words
    assert "Charged once. It stays as long as one of lines 1, 2 is ordered." in words


def test_add_up_without_script_keeps_the_choice_and_stores_nothing(client, version, address):
    before = everything_kept()
    page = page_of(client.post(address, {"line1": "accept", "line2": "accept", "name": "Osgood"}))
    assert page.xpath("string(//*[@id='sum'])") == "1,028.09"
    assert page.xpath("string(//*[@id='price-1'])") == "289.63"
    assert page.xpath("string(//*[@id='price-2'])") == "240.83"
    assert page.xpath("string(//*[@id='access']//*[@class='price'])") == "497.63"
    assert [box.get("name") for box in page.xpath("//input[@type='radio'][@checked]")] == ["line1", "line2"]
    assert page.xpath("//input[@name='name']/@value") == ["Osgood"]
    assert "Without it the total is 289.62 less" in page.xpath("string(//*[@id='change-1'])")
    assert "Without it the total is 368.56 less" in page.xpath("string(//*[@id='change-2'])")
    assert everything_kept() == before


def test_the_pump_declined(client, version, address):
    page = page_of(client.post(address, {"line1": "accept", "line2": "not-now"}))
    assert page.xpath("string(//*[@id='sum'])") == "659.53"
    assert "With it the total is 368.56 more" in page.xpath("string(//*[@id='change-2'])")
    meaning = " ".join(page.xpath("string(//*[@id='meaning'])").split())
    assert "With this choice line 1 is ordered. Line 2 is not done now." in meaning
    assert "not charged: Coolant drained." in meaning


def test_all_four_lines(client, all_four):
    said = {f"line{number}": "accept" for number in (1, 2, 3, 4)}
    page = page_of(client.post(path_of(all_four), said))
    assert page.xpath("string(//*[@id='sum'])") == "1,172.30"


def test_live_the_same_view_sends_only_the_pieces_that_change(client, version, address):
    response = client.post(address, {"line1": "accept", "line2": "accept"}, headers={"HX-Request": "true"})
    text = response.content.decode()
    assert text.strip().startswith("1,028.09")
    assert "<html" not in text
    assert set(re.findall(r'id="([\w-]+)" hx-swap-oob', text)) == {"price-1", "price-2", "change-1", "change-2", "access", "meaning"}


@pytest.mark.parametrize("method", ["get", "head", "options"])
def test_a_mail_scanner_changes_nothing(client, version, address, method):
    before = everything_kept()
    for _ in range(6):
        for page in ("go_ahead", "review", "order", "ask", "receipt", "paper"):
            getattr(client, method)(path_of(version, page))
    assert everything_kept() == before


def test_a_page_by_link_is_kept_nowhere(client, version, address):
    response = client.get(address)
    assert {name: response[name] for name in LINK_HEADERS} == LINK_HEADERS
    assert "'none'" in response["Content-Security-Policy"]


def test_it_is_light_and_asks_little(client, all_four, finding, django_assert_max_num_queries):
    with django_assert_max_num_queries(MOST_QUERIES):
        response = client.get(path_of(all_four))
    assert len(gzip.compress(response.content)) <= MOST_BYTES


def test_one_style_with_a_nonce_and_a_deferred_script_of_our_own(client, version, address):
    page = page_of(client.get(address))
    assert len(page.xpath("//style[@nonce]")) == len(page.xpath("//style")) == 1
    assert page.xpath("//link[@rel='stylesheet']") == []
    assert [script.get("src") for script in page.xpath("//script[@defer]")] == ["/static/vendor/htmx.min.js"]
    assert len(page.xpath("//script")) == 1
    assert page.xpath("//*[@style]") == []


def test_the_browser_s_own_check_stops_nothing(client, version, address):
    """A required box would keep "Add up" and a question from being sent while the name is still empty."""
    assert page_of(client.get(address)).xpath("//*[@required]") == []


def test_enter_in_the_name_box_adds_up_and_never_orders_or_asks(client, version, address):
    first = page_of(client.get(address)).xpath("//form//button")[0]
    assert first.get("formaction") is None


@pytest.mark.parametrize("which", ["go_ahead", "receipt", "paper"])
def test_an_unknown_link_is_the_same_404_for_all(client, version, which):
    bodies = {client.get(reverse(f"quotes:{which}", args=[token])).content for token in ("x" * 43, "short", "<b>")}
    assert len(bodies) == 1
    response = client.get(reverse(f"quotes:{which}", args=["x" * 43]))
    assert response.status_code == 404
    assert {name: response[name] for name in LINK_HEADERS} == LINK_HEADERS
    body = bodies.pop()
    for stranger in (b"Ostrel", b"Hardstand", b"Sign in", b"<a "):
        assert stranger not in body


def calm(response, *said):
    words = words_of(response)
    for piece in ("+999 555 010 117", *said):
        assert piece in words
    for secret in ("Ostrel", "DEMO-2", "MO-2", "Timing belt", "Osgood"):
        assert secret not in words


def test_an_expired_quote_is_a_calm_page(client, version, address):
    with clock.frozen(in_hours(24 * 9)):
        response = client.get(address)
        assert client.post(address, {"line1": "accept"}).status_code == 409
    assert response.status_code == 410
    calm(response, "It was open until", "Nothing was ordered.")


def test_a_quote_taken_back_is_a_calm_page(client, version, address):
    actions.take_back(ADA, version)
    response = client.get(address)
    assert response.status_code == 410
    calm(response, "We took this quote back.")


def test_a_replaced_quote_names_the_newer_one_to_the_same_person(client, version, address, card):
    part = card.lines.get(number=1).parts.get()
    part.amount += 12
    part.save()
    newer = actions.send_version(ADA, card, for_whom="Osgood Plumtree", numbers=[1, 2])
    response = client.get(address)
    assert response.status_code == 410
    calm(response, "version 2", "1,028.09", "1,042.73", "14.64 more")
    assert path_of(newer) in response.content.decode()


def test_a_replaced_quote_leads_nobody_else_to_the_newer_one(client, version, address, card):
    newer = actions.send_version(ADA, card, for_whom="Ilse Brackwater", numbers=[1, 2])
    response = client.get(address)
    calm(response, "version 2")
    assert path_of(newer) not in response.content.decode()


def test_hostile_words_are_inert(client, card):
    bad = "<script>alert(1)</script>\"'=HYPERLINK(1)"
    line = card.lines.get(number=1)
    line.words = line.plain_words = line.if_left = bad
    line.save()
    card.complaints.update(words=bad)
    version = actions.send_version(ADA, card, for_whom=bad, numbers=[1])
    text = client.get(path_of(version)).content.decode()
    assert "<script>alert" not in text
    assert "&lt;script&gt;alert" in text


def test_a_photo_is_shown_through_the_link_and_no_other(client, card, finding, photo):
    version = actions.send_version(ADA, card, for_whom="Osgood Plumtree", numbers=[1])
    token = token_of(queries.link_of(version))
    small = client.get(reverse("quotes:picture", args=[token, photo.uid]))
    assert (small.content, small["Content-Type"]) == (b"small bytes of the belt", "image/jpeg")
    assert client.get(reverse("quotes:picture", args=[token, photo.uid]) + "?size=full").content == b"full bytes of the belt"
    assert client.get(reverse("quotes:picture", args=[token, version.uid])).status_code == 404
    assert reverse("quotes:picture", args=[token, photo.uid]) in client.get(path_of(version)).content.decode()


def test_measured_limit_and_source_stand_together(client, card, finding):
    words = words_of(client.get(path_of(actions.send_version(ADA, card, for_whom="Osgood Plumtree", numbers=[1]))))
    assert "6\N{NO-BREAK SPACE}cracks; none allowed" in words or "6 cracks; none allowed" in words
    assert "Source: belt maker’s sheet, ed. 2023, p. 2. DEMO" in words


def test_a_form_that_is_not_of_this_page_is_refused(version, address):
    client = Client(enforce_csrf_checks=True)
    assert client.post(address, {"line1": "accept"}).status_code == 403
    assert client.post(address, {"line1": "accept", "nonce": "0" * 64}).status_code == 403


def test_a_browser_that_names_no_origin_gets_through(version, address):
    """From a page with no-referrer a form is sent with `Origin: null` and no Referer (Fetch standard)."""
    client = Client(enforce_csrf_checks=True, headers={"Origin": "null"})
    nonce = page_of(client.get(address)).xpath("//input[@name='nonce']/@value")[0]
    assert client.post(address, {"line1": "accept", "nonce": nonce}, secure=True).status_code == 200


def test_the_nonce_of_one_version_is_none_for_another(client, version, address, card):
    nonce = page_of(client.get(address)).xpath("//input[@name='nonce']/@value")[0]
    newer = actions.send_version(ADA, card, for_whom="Osgood Plumtree", numbers=[1, 2])
    assert client.post(path_of(newer), {"line1": "accept", "nonce": nonce}).status_code == 403


@pytest.mark.parametrize(
    ("why", "said"), [("", "Do not drive."), ("Told by the caller: brakes.", "Do not drive. Told by the caller: brakes.")]
)
def test_a_vehicle_that_must_not_be_driven_says_so_whatever_the_reason(why, said):
    """The verdict stands before the reason: the customer never reads only why."""
    told = Template("{% load quotes_pieces %}{% drive advice %}").render(Context({"advice": {"advice": "do_not", "words": why}}))
    assert said in told
