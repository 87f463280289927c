"""A crew's week and the rack that all share: three pieces of 100 in on Monday, three of 50 in on Thursday.

Alone that is three panels, whose offcuts do Thursday's pieces. With an offcut of 112 in on the rack one A comes out of
that: two panels, and three B out of their offcuts and one more.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from typing import Any

import pytest
from redis.client import Pipeline
from redis.exceptions import ConnectionError as RedisConnectionError

from service import weeks
from service.http.access import ANYBODY
from tests.support.crews import PANEL, Crew, day
from tests.support.stack import Stack
from workers.rack import store
from workers.week_tasks import run_week
from workers.weeks.record import KeptWeek, WeekKey
from workers.weeks.store import WeekStore


def begun(serving: Stack, crew: str, material: str, **changes: object) -> Crew:
    """Return a crew's week with one job, three A of 100 in on Monday."""
    made = Crew(serving, crew)
    body = {"units": "in", "materials": [PANEL | {"id": material}], "deliveries": [{"date": day(0)}], **changes}
    assert made.put("", body).status_code == 201
    wanted = {"date": day(0), "required": [{"mark": "A", "material": material, "length": "100", "quantity": 3}]}
    assert made.put("/jobs/north-wall", wanted).status_code == 200
    return made


def lay(serving: Stack, label: str, material: str, length: str = "112") -> None:
    """Put something on the rack that all share."""
    piece = {"label": label, "material": material, "length": length}
    assert serving.client.post("/v1/rack", json={"units": "in", "pieces": [piece]}).status_code == 201


def on_rack(serving: Stack, material: str) -> dict[str, tuple[int, int, list[str]]]:
    """Return by label how many there are, how many are free, and who holds some."""
    pieces = serving.client.get(f"/v1/rack?material={material}").json["pieces"]
    return {piece["label"]: (piece["count"], piece["free"], [one["by"] for one in piece["held"]]) for piece in pieces}


def test_a_week_holds_what_its_sheets_use_and_no_plan_gets_it(serving: Stack) -> None:
    """The offcut does one A, so two panels are ordered; a plan of one A then has to buy."""
    lay(serving, "W1", "week-1")
    crew = begun(serving, "rack-1", "week-1", use_rack=True)
    planned = crew.plan()
    assert planned["plan"]["bill"] == "19.60"
    assert [offcut["id"] for offcut in planned["held"]] == ["W1"]
    assert planned["rack"] == []
    assert on_rack(serving, "week-1") == {"W1": (1, 0, ["rack-1, 2100-W10"])}
    panel = PANEL | {"id": "week-1"}
    one = {"units": "in", "materials": [panel], "rack": True,
           "required": [{"material": "week-1", "length": "100"}]}  # fmt: skip
    plan_id = serving.posted(one, Prefer="wait=30")
    assert serving.client.get(f"/v1/cut-plans/{plan_id}").json["result"]["order_total"] == "9.80"
    named = serving.post(one | {"rack": ["W1"]})
    assert named.json["errors"][0]["code"] == "rack_reserved"
    assert "rack-1, 2100-W10 holds 1" in named.json["errors"][0]["detail"]
    body = {"units": "in", "materials": [panel], "deliveries": [{"date": day(0)}],
            "rack": [{"id": "W1", "material": "week-1", "length": "112"}]}  # fmt: skip
    other = Crew(serving, "rack-0")
    own = [other.put("", body), other.put("", body | {"rack": []}), other.put("/rack", {"offcuts": body["rack"]})]
    assert [[(error["pointer"], error["code"]) for error in one.json.get("errors", ())] for one in own] == [
        [("#/rack/0", "rack_reserved")], [], [("#/offcuts/0", "rack_reserved")],
    ]  # fmt: skip


def test_put_again_it_keeps_what_it_holds_and_withdrawn_it_lets_it_go(serving: Stack) -> None:
    """The crew's own rack may be put anew; without the job nothing is held, and forgotten nothing either."""
    lay(serving, "W2", "week-2")
    crew = begun(serving, "rack-2", "week-2", use_rack=True)
    crew.plan()
    put = crew.put("/rack", {"offcuts": []})
    assert [offcut["id"] for offcut in put.json["held"]] == ["W2"]
    crew.delete("/jobs/north-wall")
    assert crew.plan()["held"] == []
    assert on_rack(serving, "week-2") == {"W2": (1, 1, [])}
    again = begun_again(crew, "week-2")
    assert again["plan"]["bill"] == "19.60"
    assert on_rack(serving, "week-2")["W2"][1] == 0
    crew.delete("")
    assert on_rack(serving, "week-2") == {"W2": (1, 1, [])}


def begun_again(crew: Crew, material: str) -> Any:  # noqa: ANN401 - answers are JSON
    """Put the job again and return the week as it is planned then."""
    wanted = {"date": day(0), "required": [{"mark": "A", "material": material, "length": "100", "quantity": 3}]}
    crew.put("/jobs/north-wall", wanted)
    return crew.plan()


def gone(_: object) -> None:
    """Be a Redis that dies before it has done anything."""
    raise RedisConnectionError


def test_what_is_reported_used_is_used_up_and_what_is_left_goes_back(
    serving: Stack, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Monday as on the sheet but with a panel over: its two offcuts of 50 in and the panel lie on the rack.

    A later job of the week has to draw on the rack for them like anybody else. Where the rack has no room, or does not
    take them for any reason, the week has them still; one whose label another piece has by now gets the next number.
    """
    lay(serving, "W3", "week-3")
    crew = begun(serving, "rack-3", "week-3", use_rack=True)
    crew.plan()
    friday = datetime.fromisoformat(f"{day(4)}T12:00").replace(tzinfo=UTC)
    monkeypatch.setattr(weeks, "now", lambda: friday)
    crew.put(f"/deliveries/{day(0)}", {"received": [{"material": "week-3", "stock": "12-6", "count": 3}]})
    kept = {"material": "week-3", "length": 50, "factory_end": "right"}
    report = {"done": [{"job": "north-wall", "item": 0, "quantity": 3}], "used": ["W3"],
              "sticks": [{"material": "week-3", "stock": "12-6", "count": 2}],
              "kept": [{"id": name, **kept} for name in ("10-MO1", "10-MO2")]}  # fmt: skip
    answer = crew.put(f"/reports/{day(0)}", report)
    assert answer.status_code == 200, answer.text
    assert on_rack(serving, "week-3") == {}
    with monkeypatch.context() as full:
        full.setattr(store, "MOST_ENTRIES", 0)
        refused = crew.post("/rack/back")
    assert (refused.status_code, refused.json["errors"][0]["code"]) == (422, "rack_full")
    with monkeypatch.context() as fault:
        fault.setattr(Pipeline, "execute", gone)
        assert crew.post("/rack/back").status_code == 503
    assert on_rack(serving, "week-3") == {}
    lay(serving, "10-MO2", "another")
    given = crew.post("/rack/back").json["pieces"]
    assert [(piece["length"], piece["count"]) for piece in given] == [(150, 1), (50, 1), (50, 1)]
    assert {(piece["source"], piece["of"]) for piece in given} == {("week", "rack-3, 2100-W10")}
    assert "10-MO1" in {piece["label"] for piece in given}
    assert {"labelled 10-MO2"} == {piece["note"] for piece in given} - {""}
    etag = crew.get().headers["ETag"]
    assert crew.post("/rack/back").json["count"] == 0
    assert crew.get().headers["ETag"] == etag
    assert {free for _, free, _ in on_rack(serving, "week-3").values()} == {1}
    crew.put("/jobs/late", {"date": day(5), "required": [{"material": "week-3", "length": "50"}]})
    crew.put(f"/deliveries/{day(5)}", {})
    (brought,) = crew.plan()["plan"]["days"][-1]["bring"]
    assert brought["length"] == 150
    assert on_rack(serving, "week-3")[brought["id"]] == (1, 0, ["rack-3, 2100-W10"])


def test_what_a_run_held_that_was_dropped_is_known_to_the_next(alone: Stack) -> None:
    """The week is put anew, without the rack, just as its first run has held the offcut: the next goes on with that."""
    lay(alone, "W4", "week-4")
    begun(alone, "rack-4", "week-4", use_rack=True)
    weeks_kept, key = WeekStore(alone.store.redis), WeekKey(ANYBODY, "rack-4", "2100-W10")

    class Overtaken(WeekStore):
        """A store in which the week is put anew before its first run is kept."""

        def finish(self, kept: KeptWeek, *run: Any) -> bool:  # noqa: ANN401
            if kept.week.use_rack:
                assert on_rack(alone, "week-4")["W4"][1] == 0
                weeks_kept.change(key, lambda _: replace(kept.week, use_rack=False))
            return super().finish(kept, *run)

    weeks_kept.ask(key)
    run_week(Overtaken(alone.store.redis), key, None)
    found = weeks_kept.fetch(key)
    assert found is not None
    assert [offcut.id for offcut in found.week.held] == ["W4"]
    assert on_rack(alone, "week-4") == {"W4": (1, 0, ["rack-4, 2100-W10"])}
    weeks_kept.change(key, lambda _: replace(found.week, jobs=()))
    weeks_kept.ask(key)
    run_week(weeks_kept, key, None)
    assert on_rack(alone, "week-4") == {"W4": (1, 1, [])}
