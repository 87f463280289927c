"""Plans found again on the page, planned again another way, amended and called off; what was begun is kept."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta
from html import unescape

import pytest

from service.counter import pages
from tests.support.shed import SHED, shed_with
from tests.support.stack import Stack, stack
from workers.orders.drafts import Drafts, now
from workers.orders.particulars import Particulars
from workers.plans.record import Record
from workers.plans.store import Store

TWO_LENGTHS = shed_with("materials/0/stock", [
    {"id": "12-6", "length": 150, "price": "9.80", "available": 40}, {"id": "16-8", "length": 200, "price": "13.90"},
])  # fmt: skip
MARSH = {"customer": "A. Marsh", "phone": "(503) 555-0142", "purchase_order": "4471-B"}
FORM = {"text": "4 @ 8'", "units": "in", "token": "tern-cottage-1", "customer": "A. Marsh", "m0-category": "siding",
        "m0-name": "", "m0-s0-length": "12' 6\""}  # fmt: skip


@pytest.fixture(scope="module")
def quick(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Stack]:
    """Yield an installation without workers, whose pages wait for no plan."""
    patience, pages.PATIENCE = pages.PATIENCE, 0.0
    with stack(tmp_path_factory.mktemp("quick") / "data") as running:
        yield running
    pages.PATIENCE = patience


def pressed(installation: Stack, plan_id: str, button: str, **typed: str) -> Record:
    """Press a button of a plan's page and return the plan that it leads to."""
    answer = installation.client.post(f"/plans/{plan_id}", data={"do": button, **typed})
    assert answer.status_code == 303, answer.text
    return installation.record(answer.headers["Location"].rpartition("/")[2])


def there(installation: Stack, record: Record) -> dict[str, int | None]:
    """Return how many there are of each stock length of a plan's one material."""
    job = installation.store.job(record.id)
    assert job is not None
    return {row.id: row.available for row in job.materials[0].stock}


def test_a_number_leads_to_its_plan(quick: Stack) -> None:
    """In the address and in the search; another one is answered in words."""
    plan_id = quick.posted(SHED)
    number = quick.record(plan_id).number
    assert quick.client.get(f"/plans/{number}").headers["Location"] == f"/plans/{plan_id}"
    assert quick.client.get(f"/plans?q={number}").headers["Location"] == f"/plans/{plan_id}"
    wrong = f"{number[:-1]}{(int(number[-1]) + 1) % 10}"
    assert "a digit is wrong, or two are swapped" in quick.client.get(f"/plans?q={wrong}").text


def test_a_plan_is_found_by_customer_and_day(quick: Stack) -> None:
    """By words, and by the day it was asked for where the server stands."""
    number = quick.record(quick.posted(SHED | {"particulars": MARSH})).number
    today = now().astimezone().date()
    assert number in quick.client.get("/plans?q=marsh").text
    assert number in quick.client.get(f"/plans?q=0142&asked_from={today}&asked_to={today}").text
    assert number not in quick.client.get(f"/plans?q=marsh&asked_to={today - timedelta(days=1)}").text


def test_the_last_plans_are_at_hand(quick: Stack) -> None:
    """On the page that a list is begun on."""
    record = quick.record(quick.posted(SHED | {"particulars": MARSH}))
    assert f'href="/plans/{record.id}"' in quick.client.get("/").text


@pytest.mark.parametrize(("button", "typed", "stock"), [
    ("out:0:12-6", {}, {"12-6": 0, "16-8": None}),
    ("alone:0:16-8", {}, {"12-6": 0, "16-8": None}),
    ("short:0:12-6", {"there": "3"}, {"12-6": 3, "16-8": None}),
    ("instead:0:", {"length": "10'", "price": "8.10"}, {"10'": None, "12-6": 0, "16-8": 0}),
    ("also:0:", {"length": "10'", "price": "8.10"}, {"12-6": 40, "16-8": None, "10'": None}),
])  # fmt: skip
def test_what_if(quick: Stack, button: str, typed: dict[str, str], stock: dict[str, int | None]) -> None:
    """Each button plans the list with other stock, in a plan that names the one it was made from."""
    before = quick.record(quick.posted(TWO_LENGTHS | {"particulars": MARSH}))
    after = pressed(quick, before.id, button, **typed)
    assert there(quick, after) == stock
    assert (after.made_from, after.particulars) == (before.number, before.particulars)
    assert pressed(quick, before.id, button, **typed).id == after.id


def test_how_many_cartons(serving: Stack) -> None:
    """Six panels, four in a carton: one carton and two loose."""
    record = pressed(serving, serving.posted(SHED, Prefer="wait=30"), "carton:0:12-6", there="4")
    serving.settled(record.id)
    assert "1 carton and 2 loose" in serving.client.get(f"/plans/{record.id}").text


def test_what_was_out_comes_back_in_its_number(quick: Stack) -> None:
    """However many buttons were pressed in between."""
    first = quick.posted(TWO_LENGTHS)
    out = pressed(quick, pressed(quick, first, "out:0:12-6").id, "short:0:16-8", there="9")
    assert there(quick, pressed(quick, out.id, "back:0:12-6")) == {"12-6": 40, "16-8": 9}


@pytest.mark.parametrize(("button", "typed", "words"), [
    ("short:0:12-6", {"there": "some"}, "How many are there?"),
    ("instead:0:", {"length": "16", "price": "9"}, "16 ft?"),
    ("instead:0:", {"length": "16'", "price": ""}, "What does it cost?"),
    ("instead:0:", {"length": "long", "price": "9"}, "not a length"),
    ("copy", {"times": "0"}, "How many times?"),
    ("carton:0:12-6", {"there": "0"}, "How many are in a carton?"),
    ("out:0:12-6", {}, "That is the only length there is"),
])  # fmt: skip
def test_what_if_it_can_not_be(serving: Stack, button: str, typed: dict[str, str], words: str) -> None:
    """What was typed wrong, or leaves nothing to cut from, is said on the plan's page, and nothing is planned."""
    plan_id = serving.posted(SHED, Prefer="wait=30")
    answer = serving.client.post(f"/plans/{plan_id}", data={"do": button, **typed})
    assert answer.status_code == 422
    assert words in unescape(answer.text)


def test_the_same_list_again_so_many_times(serving: Stack) -> None:
    """Twice the pieces; the whole panel on hand that the first order uses is not there for the second."""
    offcut = {"id": "R-17", "material": "panel-sand", "length": "12' 6\""}
    first = serving.posted(SHED | {"offcuts": [offcut]}, Prefer="wait=30")
    job = serving.store.job(pressed(serving, first, "copy", times="2").id)
    assert job is not None
    assert [item.quantity for item in job.required] == [8, 12, 8]
    assert job.offcuts == ()


@pytest.mark.parametrize("days", ["asked_from=0001-01-01", "asked_to=9999-12-31", "asked_from=9999-12-31"])
def test_any_day_may_be_sought(quick: Stack, days: str) -> None:
    """The first and the last that can be written too."""
    assert quick.client.get(f"/plans?{days}").status_code == 200


def test_nobody_undoes_what_another_did_meanwhile(quick: Stack, monkeypatch: pytest.MonkeyPatch) -> None:
    """An order is called off while a colleague corrects its customer: both hold. Whoever names a version is refused."""
    amend, plan_id = Store.amend, quick.posted(SHED | {"particulars": MARSH})
    address = f"/v1/cut-plans/{plan_id}/particulars"

    def with_a_colleague(store: Store, record: Record, particulars: Particulars) -> bool:
        monkeypatch.setattr(Store, "amend", amend)
        quick.client.put(address, json=MARSH | {"customer": f"{record.particulars.customer} II"})
        return amend(store, record, particulars)

    monkeypatch.setattr(Store, "amend", with_a_colleague)
    record = pressed(quick, plan_id, "call-off")
    assert (record.particulars.customer, record.particulars.called_off) == ("A. Marsh II", True)
    monkeypatch.setattr(Store, "amend", with_a_colleague)
    known = quick.client.get(f"/v1/cut-plans/{plan_id}").headers["ETag"]
    assert quick.client.put(address, json={"customer": "R. Tern"}, headers={"If-Match": known}).status_code == 412
    assert quick.record(plan_id).particulars.customer == "A. Marsh II II"


def test_particulars_are_amended_and_an_order_called_off(quick: Stack) -> None:
    """The history says so; called off, the page says that nothing is to be pulled, until it is taken up again."""
    plan_id = quick.posted(SHED | {"particulars": MARSH | {"ref": "quote 17"}})
    record = pressed(quick, plan_id, "amend", **MARSH | {"phone": "555 0100", "wanted_by": "2026-12-04"})
    assert (record.particulars.phone, record.particulars.ref) == ("555 0100", "quote 17")
    assert "telephone" not in record.history[-1].detail
    assert "phone: (503) 555-0142 -> 555 0100" in record.history[-1].detail
    assert pressed(quick, plan_id, "call-off").particulars.called_off
    assert "called off" in quick.client.get("/plans").text
    assert not pressed(quick, plan_id, "take-up").particulars.called_off


def test_a_form_opened_earlier_changes_what_was_changed_in_it(serving: Stack) -> None:
    """One corrects the customer while another, who opened the page before, puts a telephone number: both stand."""
    plan_id = serving.posted(SHED | {"particulars": MARSH}, Prefer="wait=30")
    page = serving.client.get(f"/plans/{plan_id}").text
    shown = {unescape(name): unescape(was) for name, was in re.findall(r'name="was-([^"]*)" value="([^"]*)"', page)}
    assert shown.items() >= MARSH.items()
    both = shown | {f"was-{name}": was for name, was in shown.items()}
    pressed(serving, plan_id, "amend", **both | {"customer": "Ann Marsh"})
    record = pressed(serving, plan_id, "amend", **both | {"phone": "555 0100", "purchase_order": ""})
    told = record.particulars
    assert (told.customer, told.phone, told.purchase_order) == ("Ann Marsh", "555 0100", "")


@pytest.mark.parametrize(("button", "status"), [("copy", 422), (f"out:{'9' * 5_000}:12-6", 404), ("short:0:12-6", 422)])
def test_a_number_of_thousands_of_digits_is_none(quick: Stack, button: str, status: int) -> None:
    """It is refused like any other that is out of range."""
    typed = {"times": "9" * 5_000, "there": "9" * 5_000}
    assert quick.client.post(f"/plans/{quick.posted(SHED)}", data={"do": button, **typed}).status_code == status


def test_a_day_that_is_none_is_refused_where_it_was_typed(quick: Stack) -> None:
    """On the page of the list with everything else that is wrong; nothing is planned."""
    answer = quick.client.post("/", data=FORM | {"wanted_by": "Friday", "m0-s0-length": "12", "do": "plan"})
    told = unescape(answer.text)
    assert answer.status_code == 422
    assert 'href="#wanted_by"' in told
    assert "siding panel, length 1: 12 ft?" in told


def test_what_is_begun_is_kept_until_it_is_planned(quick: Stack) -> None:
    """It is opened again by its address, and from the first page; planned or thrown away it is listed no more."""
    assert quick.client.post("/drafts", data=FORM | {"way": "/"}).status_code == 204
    assert "/?draft=tern-cottage-1" in quick.client.get("/").text
    again = unescape(quick.client.get("/?draft=tern-cottage-1").text)
    assert re.search(r'id="customer"[^>]*value="A. Marsh"', again)
    assert "4 @ 8'" in again
    assert quick.client.post("/", data=FORM | {"do": "plan"}).status_code == 303
    assert "/?draft=tern-cottage-1" not in quick.client.get("/").text
    assert "4 @ 8'" in unescape(quick.client.get("/?draft=tern-cottage-1").text)
    quick.client.post("/", data=FORM | {"do": "read", "token": "tern-cottage-2"})
    assert "/?draft=tern-cottage-2" in quick.client.get("/").text
    quick.client.post("/drafts", data={"drop": "tern-cottage-2"})
    assert "/?draft=tern-cottage-2" not in quick.client.get("/").text


def test_measurements_are_kept_too(quick: Stack) -> None:
    """By the same means, and opened on their own page."""
    quick.client.post("/measure", data={"do": "draw", "token": "tern-cottage-9", "w0-id": "", "w0-width": "22' 6\""})
    assert "/measure?draft=tern-cottage-9" in quick.client.get("/").text
    assert "22&#39; 6&#34;" in quick.client.get("/measure?draft=tern-cottage-9").text


def test_of_very_many_drafts_the_oldest_make_room(quick: Stack) -> None:
    """Nobody fills the store by opening pages."""
    drafts = Drafts(quick.store.redis)
    quick.client.post("/", data=FORM | {"do": "read", "token": "first-of-all"})
    first = drafts.fetch("anybody", "first-of-all")
    assert first is not None
    for number in range(55):
        drafts.keep("anybody", replace(first, token=f"number-{number:03}", typed_at=now()))
    assert drafts.fetch("anybody", "first-of-all") is None
    assert drafts.fetch("anybody", "number-054") is not None
