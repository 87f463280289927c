"""A crew's week over the API: put, changed, planned by a real worker, and everything that is refused."""

from __future__ import annotations

from datetime import UTC, datetime, time

import pytest
from jsonschema import Draft202012Validator

from service import weeks
from tests.support.crews import MONDAY, PANEL, Crew, day, faults, job, setup
from tests.support.stack import Stack
from tests.support.weeks import in_another_week, week
from workers.weeks.record import WeekKey, failed_run
from workers.weeks.store import WeekStore


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


def test_answers_are_as_documented(serving: Stack, crew: Crew) -> None:
    """The week with its plan and its runs fit their schemas."""
    contract = serving.client.get("/openapi.json").json
    for name, value in (("Week", crew.plan()), ("WeekRuns", crew.get("/runs").json)):
        schema = {"$ref": f"#/components/schemas/{name}", "components": contract["components"]}
        assert [error.message for error in Draft202012Validator(schema).iter_errors(value)] == []


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
