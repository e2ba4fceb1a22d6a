"""vehicles:file and import_customers: customers and vehicles from a CSV file, all of it or nothing, and nothing twice."""

import csv
import io
import json
from pathlib import Path

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.core.management import CommandError, call_command
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from lxml import html

from tests.company.sheets import HOSTILE, OTHERS, SHEETS, text, told
from workshop.calc.tablefile import MOST_FAULTS
from workshop.customers.models import Contact, Party
from workshop.history import registry
from workshop.history.actions import Actor
from workshop.history.models import Event
from workshop.vehicles import actions
from workshop.vehicles.forms import COLUMNS, read_file
from workshop.vehicles.models import Owner, Vehicle

WHERE = "/vehicles/import/"
ACTOR = Actor.system("test")
FILE = """customer_number;kind;name;address;phone;email;make;model;plate;vin;built_on
7;private;Osgood Plumtree;"1 Mill Lane
Vellmark";+999 555 010 131;osgood@plumtree.example;Ostrel;Wander 28;vm 00 demo-2;;2019
7;private;Osgood Plumtree;;+999 555 010 131;osgood@plumtree.example;Ostrel;Cart;VM 00 DEMO-3;;
;firm;Fernhollow Farms;;;;Ostrel;Haul 9;;ZZZ0000000DEMO001;2021-04-30
;;Mabel Thistle;;+999 555 010 140;;;;;;
"""


def upload(client: Client, data: str | bytes, name: str = "old book.csv"):
    return client.post(WHERE, {"file": SimpleUploadedFile(name, data if isinstance(data, bytes) else data.encode(), "text/csv")})


def both(client: Client, data: str | bytes):
    """Looked through, then taken in with what the page sends."""
    seen = upload(client, data)
    assert seen.status_code == 200, text(seen)
    form = next(form for form in html.fromstring(seen.content.decode()).xpath("//form") if form.xpath(".//button[@name='take_in']"))
    return client.post(WHERE, {**dict(form.form_values()), "take_in": "1"})


def on_file() -> tuple[int, ...]:
    return tuple(model.objects.count() for model in (Party, Contact, Vehicle, Owner, Event))


def test_looking_through_writes_nothing_then_all_is_taken_in_with_one_line(company, as_owner) -> None:
    before, lines = on_file(), told()
    seen = upload(as_owner, FILE)
    assert "Osgood Plumtree" in text(seen) and "Take 4 rows in" in text(seen)
    assert on_file() == before
    answer = both(as_owner, FILE)
    assert answer.headers["Location"] == WHERE
    assert "Taken in: 3 customers and 3 vehicles." in text(as_owner.get(WHERE))
    assert told() == lines + 1
    event = Event.objects.last()
    assert (
        registry.sentences()[event.kind].format(**json.loads(event.payload))
        == "took 3 customers and 3 vehicles in from the file old book.csv"
    )
    osgood = Party.objects.get(number="7")
    assert (osgood.name, osgood.address.splitlines(), osgood.kind) == ("Osgood Plumtree", ["1 Mill Lane", "Vellmark"], "private")
    assert [(o.vehicle.plate, str(o.vehicle.built_on)) for o in Owner.objects.filter(party=osgood).order_by("pk")] == [
        ("VM 00 DEMO-2", "2019-01-01"),
        ("VM 00 DEMO-3", "None"),
    ]
    assert Contact.objects.get(party=osgood).email == "osgood@plumtree.example"
    assert Party.objects.get(name="Fernhollow Farms").kind == "firm"


def test_the_same_file_again_takes_nothing_in_twice(company, as_owner) -> None:
    both(as_owner, FILE)
    before = on_file()
    assert both(as_owner, FILE).status_code == 302
    assert on_file() == before
    assert "Taken in: 0 customers and 0 vehicles. 4 rows were on file already." in text(as_owner.get(WHERE))


def test_what_is_there_stays_and_what_is_new_beside_it_is_taken_in(company, as_owner) -> None:
    both(as_owner, FILE)
    header = "name,phone,make,model,plate,customer_number\n"
    more = f"{header}Another Name,1,Ostrel,Wander 28,VM 00 DEMO-2,7\nMabel Thistle,+999 555 010 140,Ostrel,Cub,VM 1,\n"
    both(as_owner, more)
    assert Party.objects.get(number="7").name == "Osgood Plumtree"
    assert Owner.objects.get(vehicle__plate="VM 1").party.name == "Mabel Thistle"
    assert (Party.objects.count(), Vehicle.objects.count()) == (3, 4)


def test_who_was_written_down_on_a_card_before_is_known_again(company) -> None:
    from workshop.jobs import actions as jobs

    jobs.take_enquiry(
        ACTOR,
        customer={"kind": "private", "name": "Mabel Thistle", "phone": "+999 555 010 140"},
        vehicle={"make": "Ostrel", "model": "Cub", "plate": "VM 1"},
        words="Rattles",
    )
    before = on_file()
    rows, _ = read_file(b"name,phone,make,model,plate\nMabel Thistle,+999 555 010 140,Ostrel,Cub,vm 1")
    assert actions.take_in(ACTOR, rows, "x").known == 1
    assert on_file() == before


@pytest.mark.parametrize(
    ("data", "said"),
    [
        ("name\n", "The file has no row below its first line."),
        ("nom\nx\n", "nom is no column of this table."),
        (b"name\nM\xfcller\n", "2 a letter is not written in UTF-8."),
        ("name,kind\nx,person\n", "2 kind “person” is neither private nor firm."),
        ("name,phone\n,1\n", "2 name is empty."),
        ("name,email\nx,y at z\n", "2 email “y at z” is no mail address."),
        ("name,make\nx,Ostrel\n", "2 model is empty. A vehicle has a make and a model."),
        ("name,plate\nx,VM 1\n", "2 make is empty."),
        ("name,make,model,built_on\nx,a,b,2019-02-30\n", "2 built_on “2019-02-30” is no day."),
        ("name,make,model,built_on\nx,a,b,30.4.19\n", "is no day."),
        ("name,make,model,built_on\nx,a,b,20190430\n", "is no day."),
        ("name\n" + "x" * 121 + "\n", "2 name 121 characters. At most 120."),
        ("name\na\x00b\n", "2 name There is a sign in it that no paper can print."),
        ("name\na\u202eb\n", "There is a sign in it that no paper can print."),
        ("name,make,model,plate\nx,a,b,VM 1\ny,a,b,vm 1\n", "3 plate VM 1 is in line 2 too, of another customer."),
        ("name\n" + "x\n" * 5001, "5002 more than 5,000 rows."),
    ],
)
def test_what_is_wrong_is_listed_by_line_and_column_and_nothing_is_taken_in(company, as_owner, data: str, said: str) -> None:
    before = on_file()
    answer = upload(as_owner, data)
    assert answer.status_code == 422
    assert said in " ".join(" ".join(html.fromstring(answer.content.decode()).xpath("//table//text()")).split())
    raw = data if isinstance(data, bytes) else data.encode()
    if b"\xfc" not in raw:
        assert as_owner.post(WHERE, {"text": raw.decode(), "take_in": "1"}).status_code == 422
    assert on_file() == before


def test_one_bad_line_of_many_keeps_all_out(company, as_owner) -> None:
    before = on_file()
    assert upload(as_owner, FILE + ";;;;;;;;;;\n;;Another;;;;Ostrel;;;;\n").status_code == 422
    assert on_file() == before


def test_a_vehicle_of_somebody_else_is_named(company, as_owner) -> None:
    both(as_owner, FILE)
    before = on_file()
    answer = upload(as_owner, "name,make,model,plate\nSomebody Else,Ostrel,Wander 28,VM 00 DEMO-2\n")
    assert answer.status_code == 422
    assert "VM 00 DEMO-2 is on file as Osgood Plumtree's." in text(answer)
    rows, _ = read_file(b"name,make,model,plate\nSomebody Else,Ostrel,Wander 28,VM 00 DEMO-2\n")
    assert actions.take_in(ACTOR, rows, "x").faults
    assert on_file() == before


@pytest.mark.parametrize(
    ("sent", "sentence"),
    [({}, "No file. Choose the one to take in."), ({"text": "x" * 4_000_001}, "4,000,001 bytes. At most 4,000,000")],
)
def test_no_file_and_a_vast_one(company, as_owner, sent: dict[str, str], sentence: str) -> None:
    answer = as_owner.post(WHERE, sent)
    assert answer.status_code == 422
    assert sentence in text(answer)


def test_an_empty_file_is_said(company, as_owner) -> None:
    assert upload(as_owner, b"").status_code == 422


def test_faults_are_listed_up_to_a_number(company, as_owner) -> None:
    answer = upload(as_owner, "name,kind\n" + "x,y\n" * 4000)
    assert len(html.fromstring(answer.content.decode()).xpath("//tbody/tr")) == MOST_FAULTS


@pytest.mark.parametrize("words", [HOSTILE, SHEETS, "</textarea><script>alert(1)</script>"])
def test_hostile_cells_stay_words(company, as_owner, words: str) -> None:
    out = io.StringIO()
    csv.writer(out).writerows([["name", "note"], [words, "=1+1"]])
    seen = upload(as_owner, out.getvalue())
    assert "<script>alert" not in seen.content.decode()
    assert both(as_owner, out.getvalue()).status_code == 302
    assert Party.objects.get().name == words


@pytest.mark.parametrize("who", OTHERS)
def test_it_is_the_owners_page(company, request, who: str) -> None:
    client = request.getfixturevalue(who)
    assert client.get(WHERE).status_code == 403
    assert upload(client, FILE).status_code == 403
    assert not Party.objects.exists()


def test_the_page_prints_every_column(company, as_owner) -> None:
    assert not [name for name in COLUMNS if name not in text(as_owner.get(WHERE))]


def test_five_thousand_rows_ask_as_few_questions_as_they_can(company) -> None:
    lines = [f"{n};Customer {n};+999 {n};Ostrel;Cart;VM {n};" for n in range(5000)]
    rows, faults = read_file("\n".join(["customer_number;name;phone;make;model;plate;vin", *lines]).encode())
    assert faults == []
    with CaptureQueriesContext(connection) as captured:
        done = actions.take_in(ACTOR, rows, "many.csv")
    assert (done.customers, done.vehicles) == (5000, 5000)
    assert len(captured) < 140  # in steps of 500 rows
    assert actions.take_in(ACTOR, rows, "many.csv").known == 5000


@pytest.mark.django_db
def test_the_command_checks_and_takes_in(company, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "old.csv"
    path.write_text(FILE)
    call_command("import_customers", path, "--check")
    assert not Party.objects.exists()
    call_command("import_customers", path)
    assert "Taken in: 3 customers and 3 vehicles. Known already: 0 rows." in capsys.readouterr().out
    path.write_text("name,kind\nx,y\n")
    with pytest.raises(CommandError, match="line 2, column kind: “y” is neither private nor firm"):
        call_command("import_customers", path)
    assert Party.objects.count() == 3
