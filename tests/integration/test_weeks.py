"""A crew's week over the API: put, changed, reported, planned by a real worker, and everything that is refused."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from service import weeks
from tests.support.stack import Stack
from tests.support.weeks import in_another_week, week
from workers.weeks.record import WeekKey, failed_run
from workers.weeks.store import WeekStore

MONDAY = date.fromisocalendar(2100, 10, 1)
"""Far off, so that nothing is frozen however late it is."""
PANEL = {
    "id": "panel-sand", "description": "double 4 in panel, sand", "category": "siding",
    "stock": [{"id": "12-6", "length": "12' 6\"", "price": "9.80"}],
}  # fmt: skip


def day(number: int) -> str:
    """Return a date of the week, Monday being 0."""
    return (MONDAY + timedelta(days=number)).isoformat()


def setup(**changes: Any) -> dict[str, Any]:  # noqa: ANN401
    """Return what a week is begun with."""
    return {"units": "in", "materials": [PANEL], "deliveries": [{"date": day(0)}], **changes}


def job(on: int, length: str, quantity: int) -> dict[str, Any]:
    """Return a job of one line."""
    return {"date": day(on), "required": [{"material": "panel-sand", "length": length, "quantity": quantity}]}


class Crew:
    """One crew's week at its address."""

    def __init__(self, stack: Stack, name: str, week: str = "2100-W10") -> None:
        self._client, self._base = stack.client, f"/v1/crews/{name}/weeks/{week}"

    def put(self, path: str, body: object) -> Any:  # noqa: ANN401
        """Put a part of the week."""
        return self._client.put(self._base + path, json=body)

    def get(self, path: str = "") -> Any:  # noqa: ANN401
        """Look at a part of the week."""
        return self._client.get(self._base + path)

    def post(self, path: str) -> Any:  # noqa: ANN401
        """Ask for something to be done with the week."""
        return self._client.post(self._base + path)

    def delete(self, path: str) -> Any:  # noqa: ANN401
        """Take a part of the week away."""
        return self._client.delete(self._base + path)

    def plan(self) -> Any:  # noqa: ANN401
        """Have it planned and return the week."""
        answer = self._client.post(f"{self._base}/plan", headers={"Prefer": "wait=30"})
        assert answer.status_code == 200, answer.text
        return answer.json


@pytest.fixture
def crew(serving: Stack, request: pytest.FixtureRequest) -> Crew:
    """Return a crew of the test's own with the week by hand: see ``tests.support.weeks``."""
    made = Crew(serving, f"crew-{abs(hash(request.node.name))}")
    assert made.put("", setup()).status_code == 201
    assert made.put("/jobs/north-wall", job(0, "100", 3)).status_code == 200
    assert made.put("/jobs/boat-shed", job(3, "50", 3)).status_code == 200
    return made


@pytest.fixture
def thursday(crew: Crew, monkeypatch: pytest.MonkeyPatch) -> Crew:
    """Return the crew when the service's clock says noon of the week's Thursday."""
    noon = datetime.combine(MONDAY + timedelta(days=3), time(12), UTC)
    monkeypatch.setattr(weeks, "now", lambda: noon)
    return crew


def test_a_week_is_planned_on_demand(crew: Crew) -> None:
    """Three panels instead of four, and Thursday brings what Monday keeps."""
    week = crew.plan()
    plan = week["plan"]
    assert (week["up_to_date"], plan["bill"], plan["proven"]) == (True, "29.40", True)
    (only,) = plan["compared"]
    assert (only["alone"], only["pooled"]) == ({"sticks": 4, "cost": 39.2}, {"sticks": 3, "cost": 29.4})
    monday, thursday = plan["days"]
    assert [kept["label"] for kept in monday["keep"]] == [offcut["id"] for offcut in thursday["bring"]]
    assert [order["date"] for order in plan["orders"]] == [day(0)]


def test_a_job_is_changed_and_withdrawn(crew: Crew) -> None:
    """Each change grows the version; the plan is of the old one until the week is planned again."""
    crew.plan()
    assert crew.put("/jobs/boat-shed", job(3, "50", 2)).json["up_to_date"] is False
    assert crew.delete("/jobs/boat-shed").status_code == 204
    assert crew.delete("/jobs/boat-shed").status_code == 404
    assert [entry["id"] for entry in crew.get().json["jobs"]] == ["north-wall"]


def test_runs_leave_their_record(crew: Crew) -> None:
    """When, why, what changed, and the bill before and after."""
    crew.plan()
    crew.put("", setup(limits={"carry": 0}))
    crew.plan()
    first, second = crew.get("/runs").json["runs"]
    assert (first["bill_before"], first["bill_after"], first["why"]) == (None, "29.40", "asked")
    assert (second["bill_before"], second["bill_after"], second["changes"]) == ("29.40", "39.20", 3)


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


def test_answers_are_as_documented(serving: Stack, crew: Crew) -> None:
    """The week with its plan and its runs fit their schemas."""
    contract = serving.client.get("/openapi.json").json
    for name, value in (("Week", crew.plan()), ("WeekRuns", crew.get("/runs").json)):
        schema = {"$ref": f"#/components/schemas/{name}", "components": contract["components"]}
        assert [error.message for error in Draft202012Validator(schema).iter_errors(value)] == []


def faults(answer: Any) -> list[tuple[str, str]]:  # noqa: ANN401
    """Return code and pointer of every fault in a problem."""
    assert answer.status_code == 422, answer.text
    return [(error["code"], error["pointer"]) for error in answer.json["errors"]]


def test_a_date_outside_the_week_is_named(crew: Crew) -> None:
    """Monday of the week after is not in this one."""
    assert faults(crew.put("/jobs/shed", job(7, "50", 1))) == [("date_outside_week", "#/date")]


def test_a_job_before_any_delivery_is_named(crew: Crew) -> None:
    """Taking Monday's delivery back leaves the north wall without panels."""
    crew.put(f"/deliveries/{day(2)}", {})
    answer = crew.delete(f"/deliveries/{day(0)}")
    assert faults(answer) == [("before_any_delivery", "#/jobs/north-wall/date")]


def test_the_same_job_in_two_weeks_is_named(serving: Stack, crew: Crew) -> None:
    """It has to be withdrawn from the first before it is put in the second."""
    name = crew.get().json["crew"]
    later = Crew(serving, name, "2100-W11")
    later.put("", setup(deliveries=[{"date": day(7)}]))
    answer = later.put("/jobs/boat-shed", job(8, "50", 3))
    assert (answer.status_code, answer.json["type"]) == (409, "/problems/job-elsewhere")
    assert "2100-W10" in answer.json["detail"]
    crew.delete("/jobs/boat-shed")
    assert later.put("/jobs/boat-shed", job(8, "50", 3)).status_code == 200


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


def lines(*marked: tuple[str, str, int]) -> dict[str, Any]:
    """Return Monday's job with items of mark, length and quantity."""
    items = [{"mark": m, "material": "panel-sand", "length": length, "quantity": n} for m, length, n in marked]
    return {"date": day(0), "required": items}


def test_what_is_final_by_now_is_told_without_another_plan(crew: Crew, monkeypatch: pytest.MonkeyPatch) -> None:
    """From five on Monday, Monday's sheet and delivery are final, whether or not the week was planned since."""
    tags = []
    crew.plan()
    for hour, final in ((4, False), (5, True)):
        monkeypatch.setattr(weeks, "now", lambda hour=hour: datetime.combine(MONDAY, time(hour), UTC))
        answer = crew.get()
        plan = answer.json["plan"]
        assert [each["frozen"] for each in plan["days"]] == [final, False]
        assert [each["closed"] for each in plan["orders"]] == [final]
        tags.append(answer.headers["ETag"])
    assert tags[0] != tags[1]


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


def test_a_week_long_past_is_refused(serving: Stack) -> None:
    """Week 1 of 2020 has ended, and the answer says when."""
    answer = Crew(serving, "tern", "2020-W01").put("", setup(deliveries=[]))
    assert (answer.status_code, answer.json["type"]) == (409, "/problems/week-over")
    assert "2020-01-05" in answer.json["detail"]


def test_a_week_long_past_is_not_planned_again(serving: Stack) -> None:
    """It is still there to be looked at."""
    key = WeekKey("anybody", "past", "2020-W10")
    WeekStore(serving.store.redis).change(key, lambda _: in_another_week(week(), 2020, 10))
    address = "/v1/crews/past/weeks/2020-W10"
    answer = serving.client.post(f"{address}/plan")
    assert (answer.status_code, answer.json["type"]) == (409, "/problems/week-over")
    assert serving.client.get(address).status_code == 200


def test_a_week_says_why_it_has_no_plan_until_it_changes(crew: Crew, serving: Stack) -> None:
    """The run that came to none has its reason beside the plan there was; whoever polls with an ETag sees it come."""
    store, before = WeekStore(serving.store.redis), crew.get()
    kept = store.fetch(WeekKey("anybody", before.json["crew"], "2100-W10"))
    assert kept is not None
    assert before.json["refusals"] == []
    store.finish(kept, None, failed_run(datetime.now(UTC), None, "the week needs more memory"))
    after = crew.get()
    assert after.json["refusals"] == ["the week needs more memory"]
    assert after.headers["ETag"] != before.headers["ETag"]
    assert crew.put("/jobs/shed", job(1, "50", 1)).json["refusals"] == []


@pytest.mark.parametrize("week", ["2100-W53", "2100-W54", "2100-W00", "2100-10", "next", "2099-W53x"])
def test_a_week_that_the_calendar_has_not(serving: Stack, week: str) -> None:
    """There is nothing under such an address."""
    assert Crew(serving, "tern", week).get().status_code == 404


def test_faults_of_a_body_are_named_all_at_once(crew: Crew) -> None:
    """A date that is none, and a length that is none."""
    body = {"date": "Monday", "required": [{"material": "panel-sand", "length": "long"}]}
    answer = crew.put("/jobs/shed", body)
    assert {error["pointer"] for error in answer.json["errors"]} == {"#/date", "#/required/0/length"}


def test_names_of_a_body_that_do_not_fit_are_told(crew: Crew) -> None:
    """A wall mistyped and one twice, more pieces than a request may ask for; a material and a stock length twice."""
    asked = job(1, "50", 10_000)
    asked["walls"] = [{"id": "north", "viewed_from": "left"}] * 2
    asked["required"] = [{**asked["required"][0], "wall": "nroth"}] + asked["required"] * 10
    answer = crew.put("/jobs/shed", asked)
    assert faults(answer) == [
        ("too_many_pieces", "#/required"), ("id_unknown", "#/required/0/wall"), ("id_twice", "#/walls/1/id"),
    ]  # fmt: skip
    assert "did you mean north?" in answer.json["errors"][1]["detail"]
    twice = setup(materials=[{**PANEL, "stock": [*PANEL["stock"]] * 2}] * 2)
    places = ["#/materials/0/stock/1/id", "#/materials/1/id", "#/materials/1/stock/1/id"]
    assert faults(crew.put("", twice)) == [("id_twice", place) for place in places]


def test_another_clients_week_is_not_there(crew: Crew, serving: Stack) -> None:
    """A crew that nobody has put has no such week, whoever asks or puts a job there."""
    del crew
    for answer in (Crew(serving, "nobody").get(), Crew(serving, "nobody").put("/jobs/shed", job(1, "50", 3))):
        assert answer.status_code == 404
        assert answer.json["detail"].startswith("Crew nobody has no week ")
