"""What a crew reports in the evening over the API: by marks, as on the sheet, and what can't have been."""

from __future__ import annotations

from datetime import UTC, datetime, time
from typing import Any

import pytest

from service import weeks
from tests.support.crews import MONDAY, Crew, day, faults, setup


def lines(*marked: tuple[str, str, int]) -> dict[str, Any]:
    """Return Monday's job with items of mark, length and quantity."""
    items = [{"mark": m, "material": "panel-sand", "length": length, "quantity": n} for m, length, n in marked]
    return {"date": day(0), "required": items}


def test_what_is_reported_is_planned_with(thursday: Crew) -> None:
    """One offcut was kept on Monday, on the rack: Thursday's other two need a panel."""
    thursday.put(f"/deliveries/{day(3)}", {})
    thursday.put(f"/deliveries/{day(0)}", {"received": [{"material": "panel-sand", "stock": "12-6", "count": 3}]})
    kept = {"id": "10-MO1", "material": "panel-sand", "length": "50", "factory_end": "right", "in_van": False}
    report = {
        "done": [{"job": "north-wall", "item": 0, "quantity": 3}],
        "sticks": [{"material": "panel-sand", "stock": "12-6", "count": 3}],
        "kept": [kept],
    }
    assert thursday.put(f"/reports/{day(0)}", report).status_code == 200
    plan = thursday.plan()["plan"]
    assert [order["lines"][0]["sticks"] for order in plan["orders"]] == [3, 1]
    assert [offcut["id"] for offcut in plan["days"][-1]["bring"]] == ["10-MO1"]


def test_an_offcut_reported_twice_is_named(thursday: Crew) -> None:
    """On the rack, used twice, or kept under a label that the rack has already: each by its place in the body."""
    offcut = {"id": "R-17", "material": "panel-sand", "length": "61 1/2"}
    assert faults(thursday.put("/rack", {"offcuts": [offcut] * 2})) == [("offcut_twice", "#/offcuts/1")]
    assert faults(thursday.put("", setup(rack=[offcut] * 2))) == [("offcut_twice", "#/rack/1")]
    thursday.put("/rack", {"offcuts": [offcut]})
    report = {"sticks": [{**CAME[0], "count": 1}], "kept": [offcut]}
    assert faults(thursday.put(f"/reports/{day(0)}", report)) == [("offcut_twice", "#/kept/0")]
    thursday.put(f"/reports/{day(0)}", {"used": ["R-17"]})
    again = thursday.put(f"/reports/{day(1)}", {"used": ["R-18", "R-17"]})
    assert faults(again) == [("offcut_twice", "#/used/1"), ("offcut_unknown", "#/used/0")]


CAME = [{"material": "panel-sand", "stock": "12-6", "count": 3}]


def test_a_report_that_cannot_be_is_refused(thursday: Crew) -> None:
    """Friday is still to come; four sticks of three; an offcut of 151 in where sticks are 150; one stock twice."""
    assert faults(thursday.put(f"/reports/{day(4)}", {})) == [("day_to_come", "#")]
    thursday.put(f"/deliveries/{day(0)}", {"received": CAME})
    monday = f"/reports/{day(0)}"
    four = thursday.put(monday, {"sticks": [{**CAME[0], "count": 4}]})
    assert faults(four) == [("used_too_many", "#/sticks/0/count")]
    kept = {"id": "10-MO1", "material": "panel-sand", "length": "151"}
    too_long = thursday.put(monday, {"sticks": CAME, "kept": [kept]})
    assert faults(too_long) == [("offcut_too_long", "#/kept/0/length"), ("more_than_used", "#/kept")]
    twice = thursday.put(monday, {"sticks": [{**CAME[0], "count": 1}] * 2})
    assert faults(twice) == [("stock_twice", "#/sticks/1/stock")]
    unknown = thursday.put(f"/deliveries/{day(1)}", {"received": [{**CAME[0], "stock": "16-0"}]})
    assert faults(unknown) == [("stock_unknown", "#/received/0/stock")]
    assert thursday.put(monday, {"sticks": CAME, "kept": [{**kept, "length": "150"}]}).status_code == 200
    more = thursday.put(f"/reports/{day(1)}", {"sticks": [{**CAME[0], "count": 1}]})
    assert faults(more) == [("used_too_many", "#/sticks/0/count")]


def test_a_report_that_the_plan_rules_out_is_refused(thursday: Crew) -> None:
    """Nobody has said what came: three were ordered, and no four can be used. 3 of 100 leave none of 60."""
    thursday.plan()
    monday, done = f"/reports/{day(0)}", {"done": [{"job": "north-wall", "item": 0, "quantity": 3}], "sticks": CAME}
    four = thursday.put(monday, {"sticks": [{**CAME[0], "count": 4}]})
    assert faults(four) == [("used_too_many", "#/sticks/0/count")]
    unknown = {"sticks": [{**CAME[0], "stock": "16-0"}]}
    assert faults(thursday.put(monday, unknown)) == [("stock_unknown", "#/sticks/0/stock")]
    kept = {"id": "10-MO1", "material": "panel-sand", "length": "60"}
    assert faults(thursday.put(monday, {**done, "kept": [kept]})) == [("more_than_used", "#/kept")]
    assert faults(thursday.put(monday, {**done, "sticks": []})) == [("more_than_used", "#/done")]
    few = {"as_planned": True, "sticks": [{**CAME[0], "count": 1}], "kept": []}
    assert faults(thursday.put(monday, few)) == [("more_than_used", "#/as_planned")]
    four = {"done": [{**done["done"][0], "quantity": 1}, {"job": "shed", "item": 2, "quantity": 1}], "sticks": CAME}
    assert faults(thursday.put(monday, four)) == [("piece_unknown", "#/done/1")]
    four = {"done": [{**done["done"][0], "quantity": 4}], "sticks": [{**CAME[0], "count": 3}]}
    assert faults(thursday.put(monday, four)) == [("cut_too_many", "#/done/0"), ("more_than_used", "#/done")]
    assert thursday.put(monday, {**done, "kept": [{**kept, "length": "50"}]}).status_code == 200


def test_a_report_names_items_by_their_marks(thursday: Crew, monkeypatch: pytest.MonkeyPatch) -> None:
    """N is the second item; X is none, and D stands on two: which is meant can only be said by place."""
    with monkeypatch.context() as before:
        before.setattr(weeks, "now", lambda: datetime(2026, 1, 1, tzinfo=UTC))
        thursday.put("/jobs/north-wall", lines(("A", "100", 3), ("N", "90", 2), ("D", "20", 1), ("D", "30", 1)))
    done = [{"job": "north-wall", "mark": mark, "quantity": 1} for mark in "NXD"]
    clearly, unclearly = f"/reports/{day(0)}", [("mark_unclear", f"#/done/{n}/mark") for n in (1, 2)]
    assert faults(thursday.put(clearly, {"done": done})) == unclearly
    assert faults(thursday.put(clearly, {"done": [{**done[0], "item": 1}]})) == [("missing", "#/done/0/item")]
    assert faults(thursday.put(clearly, {"done": [{"job": "north-wall", "quantity": 1}]})) == [
        ("missing", "#/done/0/item")
    ]
    (report,) = thursday.put(clearly, {"done": done[:1], "sticks": CAME}).json["reports"]
    assert report["done"] == [{"job": "north-wall", "item": 1, "quantity": 1}]


def test_a_day_as_on_the_sheet_is_one_call(thursday: Crew) -> None:
    """Monday's three panels were cut as planned, but for one of N: two are done, and what was kept lies in the van."""
    thursday.plan()
    monday = f"/reports/{day(0)}"
    nobody = [{"job": "north-wall", "item": 0, "quantity": 4}]
    assert faults(thursday.put(f"/reports/{day(1)}", {"as_planned": True})) == [("no_sheet", "#/as_planned")]
    assert faults(thursday.put(monday, {"as_planned": True, "not_done": nobody})) == [
        ("not_on_sheet", "#/not_done/0/quantity")
    ]
    but_one = {"as_planned": True, "not_done": [{**nobody[0], "quantity": 1}]}
    (report,) = thursday.put(monday, but_one).json["reports"]
    assert report["done"] == [{"job": "north-wall", "item": 0, "quantity": 2}]
    assert report["sticks"] == [{"material": "panel-sand", "stock": "12-6", "count": 3}]
    kept = [(offcut["length"], offcut["in_van"]) for offcut in report["kept"]]
    assert (kept, report["used"]) == ([(50, True)] * 3, [])
    (again,) = thursday.put(monday, {"as_planned": True, "kept": []}).json["reports"]
    assert (again["done"][0]["quantity"], again["kept"]) == (3, [])


def test_items_that_are_cut_keep_their_place(thursday: Crew, monkeypatch: pytest.MonkeyPatch) -> None:
    """Two of A are cut: A and N can't swap, nor A become longer; more of A may be wanted, and another item."""
    monkeypatch.setattr(weeks, "now", lambda: datetime.combine(MONDAY, time(3), UTC))
    thursday.put("/jobs/north-wall", lines(("A", "100", 3), ("N", "90", 2)))
    report = {"done": [{"job": "north-wall", "mark": "A", "quantity": 2}], "sticks": CAME}
    assert thursday.put(f"/reports/{day(0)}", report).status_code == 200
    for other in (lines(("N", "90", 2), ("A", "100", 3)), lines(("A", "101", 3), ("N", "90", 2))):
        assert faults(thursday.put("/jobs/north-wall", other)) == [("cut_already", "#/required/0")]
    assert faults(thursday.put("/jobs/north-wall", lines(("A", "100", 1)))) == [("cut_too_many", "#/required/0")]
    assert faults(thursday.delete("/jobs/north-wall")) == [("cut_already", "#")]
    thursday.put(f"/reports/{day(0)}", {"done": [{"job": "north-wall", "item": 1, "quantity": 1}], "sticks": CAME})
    assert faults(thursday.put("/jobs/north-wall", lines(("A", "100", 3)))) == [("cut_already", "#/required")]
    thursday.put(f"/reports/{day(0)}", report)
    more = lines(("A", "100", 4), ("P", "80", 1))
    assert thursday.put("/jobs/north-wall", more).status_code == 200


def test_what_was_said_elsewhere_outlives_a_change_of_the_week(thursday: Crew) -> None:
    """Putting the week again keeps what came, on days it lists and on others, and the rack it does not speak of."""
    rack = [{"id": "R-17", "material": "panel-sand", "length": "61 1/2"}]
    thursday.put("/rack", {"offcuts": rack})
    thursday.put(f"/deliveries/{day(0)}", {"received": CAME})
    thursday.put(f"/deliveries/{day(1)}", {"received": CAME})
    thursday.put(f"/deliveries/{day(2)}", {})
    changed = thursday.put("", setup(limits={"carry": 0})).json
    received = [(entry["date"], entry["received"]) for entry in changed["deliveries"]]
    assert received == [(day(0), CAME), (day(1), CAME)]
    assert [offcut["id"] for offcut in changed["rack"]] == ["R-17"]
    said = [{"date": day(0), "received": [{**CAME[0], "count": 2}]}]
    changed = thursday.put("", setup(rack=[], deliveries=said)).json
    assert (changed["rack"], changed["deliveries"][0]["received"][0]["count"]) == ([], 2)
