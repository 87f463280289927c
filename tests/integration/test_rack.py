"""The rack: what lies there, who holds it, and that nobody has what another has.

Four of the boat shed's B, 4'-2", are two panels of 12'-6": three and one. With an offcut of 61 1/2" for the fourth
they are one. Each test has a panel of its own, so that none finds another's pieces.
"""

from __future__ import annotations

import time
from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from threading import Barrier
from typing import Any

import pytest

import solver
from service.http.access import ANYBODY
from solver.job import Job
from solver.lp import lazily
from solver.plan import CutPlan
from tests.support.shed import SHED, Json
from tests.support.stack import Stack
from workers.plans.record import State
from workers.plans.store import Store
from workers.rack.planning import settle
from workers.rack.store import Rack


def four(material: str, **more: object) -> Json:
    """Return a request for four B of a panel, which may use the rack."""
    panel = SHED["materials"][0] | {"id": material}
    return {"units": "in", "materials": [panel], "rack": True,
            "required": [{"mark": "B", "material": material, "length": "4' 2\"", "quantity": 4}], **more}  # fmt: skip


def lay(serving: Stack, material: str, label: str, **more: object) -> None:
    """Put an offcut of 61 1/2" on the rack."""
    piece = {"label": label, "material": material, "length": "61 1/2", **more}
    answer = serving.client.post("/v1/rack", json={"units": "in", "pieces": [piece]})
    assert answer.status_code == 201, answer.text


def planned(serving: Stack, body: Json) -> Any:  # noqa: ANN401 - answers are JSON
    """Return the resource of a plan that came to be."""
    plan_id = serving.posted(body, Prefer="wait=30")
    serving.settled(plan_id)
    return serving.client.get(f"/v1/cut-plans/{plan_id}").json


def lying(serving: Stack, material: str) -> list[tuple[str, int, int]]:
    """Return labels, how many there are and how many are free of a material."""
    answer = serving.client.get(f"/v1/rack?material={material}")
    return [(piece["label"], piece["count"], piece["free"]) for piece in answer.json["pieces"]]


def used(plan: Json) -> list[str]:
    """Return the labels that a plan cuts from."""
    patterns = [pattern for part in plan["result"]["materials"] for pattern in part["patterns"]]
    return [stick["offcut_id"] for pattern in patterns for stick in pattern["sticks"] if stick["offcut_id"]]


def test_what_is_put_there_lies_there(serving: Stack) -> None:
    """Longest first, with what it is; without a label of its own it gets a number."""
    pieces = [{"material": "tern-1", "length": "5' 1\"", "note": "by the door"},
              {"label": "T1", "material": "tern-1", "length": "61 1/2", "count": 2, "factory_end": "left"}]
    answer = serving.client.post("/v1/rack", json={"units": "in", "pieces": pieces})
    assert answer.status_code == 201
    first, second = serving.client.get("/v1/rack?material=tern-1").json["pieces"]
    assert (first["label"], first["count"], first["text"], first["factory_end"]) == ("T1", 2, "5'-1 1/2\"", "left")
    assert (second["label"][:2], second["note"], second["source"], second["held"]) == ("R-", "by the door", "hand", [])


def test_two_orders_one_after_the_other_never_use_one_offcut(serving: Stack) -> None:
    """The first has it and buys one panel, the second buys two; the rack says who has it."""
    lay(serving, "tern-2", "T2")
    first, second = planned(serving, four("tern-2")), planned(serving, four("tern-2"))
    assert (used(first), first["result"]["order_total"]) == (["T2"], "9.80")
    assert (used(second), second["result"]["order_total"]) == ([], "19.60")
    (piece,) = serving.client.get("/v1/rack/T2").json["pieces"]
    assert piece["held"] == [{"by": f"plan {first['number']}", "count": 1, "used": 0}]
    assert first["from_rack"] == [{"id": "T2", "material": "tern-2", "length": 61.5, "quantity": 1,
                                   "factory_end": "none"}]  # fmt: skip


def test_only_what_the_plan_uses_is_held(serving: Stack) -> None:
    """Of three alike it takes one; the two others are there for the next two plans."""
    lay(serving, "tern-3", "T3", count=3)
    totals = [planned(serving, four("tern-3"))["result"]["order_total"] for _ in range(4)]
    assert totals == ["9.80", "9.80", "9.80", "19.60"]
    assert lying(serving, "tern-3") == [("T3", 3, 0)]


@pytest.mark.parametrize("end", ["forgotten", "called off", "expired"])
def test_what_a_plan_held_is_free_once_that_is_over(serving: Stack, end: str) -> None:
    """Whether it is forgotten, called off, or its time is up."""
    material = f"tern-{end.replace(' ', '-')}"
    lay(serving, material, material)
    plan_id = planned(serving, four(material))["id"]
    assert lying(serving, material) == [(material, 1, 0)]
    if end == "forgotten":
        assert serving.client.delete(f"/v1/cut-plans/{plan_id}").status_code == 204
    elif end == "called off":
        serving.client.put(f"/v1/cut-plans/{plan_id}/particulars", json={"called_off": True})
    else:
        serving.store.redis.pexpire(f"lapstock:plan:{plan_id}", 0)
    assert lying(serving, material) == [(material, 1, 1)]
    assert used(planned(serving, four(material))) == [material]


def test_an_order_is_taken_up_again_only_with_what_it_cuts(serving: Stack) -> None:
    """Called off, it may be taken up as long as nobody else has its offcut."""
    lay(serving, "tern-4", "T4")
    address = f"/v1/cut-plans/{planned(serving, four('tern-4'))['id']}/particulars"
    for off in (True, False, True):
        assert serving.client.put(address, json={"called_off": off}).status_code == 200
    planned(serving, four("tern-4"))
    answer = serving.client.put(address, json={"called_off": False})
    assert (answer.status_code, answer.json["type"]) == (409, "/problems/offcut-taken")
    assert "T4" in answer.json["detail"]


def test_what_is_cut_is_used_up(serving: Stack) -> None:
    """A piece of its stick is ticked: it is there no more, though the plan be forgotten; a mistake is mended."""
    lay(serving, "tern-5", "T5", count=2)
    plan = planned(serving, four("tern-5"))
    stick = next(stick["stick"] for pattern in plan["result"]["materials"][0]["patterns"]
                 for stick in pattern["sticks"] if stick["offcut_id"])  # fmt: skip
    address = f"/v1/cut-plans/{plan['id']}/ticks"
    for before, after, left in (("to_cut", "cut", 1), ("cut", "to_cut", 2), ("to_cut", "miscut", 1)):
        ticks = [{"piece": f"{stick}-1", "before": before, "state": after}]
        serving.client.post(address, json={"ticks": ticks})
        assert lying(serving, "tern-5") == [("T5", left, 1)]
    serving.client.delete(f"/v1/cut-plans/{plan['id']}")
    assert lying(serving, "tern-5") == [("T5", 1, 1)]


def test_a_plan_gives_what_it_keeps_once(serving: Stack) -> None:
    """Two of B leave 50 in of a panel; put there twice, and by its label, it lies there once."""
    body = four("tern-6", required=[{"mark": "B", "material": "tern-6", "length": "4' 2\"", "quantity": 2}])
    plan = planned(serving, body)
    kept = [serving.client.post("/v1/rack/kept", json={"from": of}) for of in
            (plan["number"], plan["id"], f"http://localhost/plans/{plan['number']}/pieces/S1-keep")]  # fmt: skip
    assert [(answer.status_code, answer.json["count"]) for answer in kept] == [(200, 1), (200, 0), (200, 0)]
    (piece,) = kept[0].json["pieces"]
    assert (piece["label"], piece["length"], piece["of"]) == (f"{plan['number']}-S1", 50, f"plan {plan['number']}, S1")
    assert used(planned(serving, body | {"required": [body["required"][0] | {"quantity": 1}]})) == [piece["label"]]
    assert lying(serving, "tern-6") == [(piece["label"], 1, 0)]


def test_named_labels_are_used_or_refused_by_name(serving: Stack) -> None:
    """Had by another plan, not there, of another panel: each in its place, and beside other faults of the request."""
    for label, material in (("T7", "tern-7"), ("T7-other", "tern-7b"), ("T7-free", "tern-7")):
        lay(serving, material, label)
    first = planned(serving, four("tern-7", rack=["T7"]))
    assert used(first) == ["T7"]
    answer = serving.post(four("tern-7", rack=["T7", "none", "T7-other", "T7-free"]))
    assert answer.status_code == 422
    assert [(error["pointer"], error["code"]) for error in answer.json["errors"]] == [
        ("#/rack/0", "rack_reserved"), ("#/rack/1", "rack_unknown"), ("#/rack/2", "material_unknown"),
    ]  # fmt: skip
    assert f"plan {first['number']}" in answer.json["errors"][0]["detail"]
    dry = serving.client.post("/v1/cut-plans?dry_run=true", json=four("tern-7", rack=["T7"]))
    assert [error["code"] for error in dry.json["errors"]] == ["rack_reserved"]
    for length, code in (("9-7", "ambiguous_length"), ("1/4", "nothing_left_to_cut")):
        body = four("tern-7", rack=["none"])
        body["required"][0] |= {"length": length, "left_end": "channel", "right_end": "channel"}
        told = [(error["pointer"], error["code"]) for error in serving.post(body).json["errors"]]
        assert told == [("#/required/0/length", code), ("#/rack/0", "rack_unknown")]


def test_a_request_sent_again_is_not_refused_for_what_it_holds_itself(serving: Stack) -> None:
    """Its key names the plan that has the offcut."""
    lay(serving, "tern-8", "T8")
    answers = [serving.post(four("tern-8", rack=["T8"]), Prefer="wait=30", Idempotency_Key="tern-8") for _ in "12"]
    assert answers[0].json["id"] == answers[1].json["id"]


@pytest.mark.parametrize(("pieces", "faults"), [
    ([{"label": "X", "material": "p", "length": "5'"}] * 2, ["#/pieces/0/label", "#/pieces/1/label"]),
    ([{"label": "a/b", "material": "p", "length": "5'"}], ["#/pieces/0/label"]),
    ([{"material": "p", "length": "5'", "count": 0}], ["#/pieces/0/count"]),
    ([{"material": "p", "length": "nine"}, {"length": "5'"}], ["#/pieces/0/length", "#/pieces/1/material"]),
])  # fmt: skip
def test_pieces_that_can_t_be_are_refused_and_none_is_kept(
    serving: Stack, pieces: list[Json], faults: list[str]
) -> None:
    """Every fault is named."""
    before = serving.client.get("/v1/rack").json["count"]
    answer = serving.client.post("/v1/rack", json={"units": "in", "pieces": pieces})
    assert (answer.status_code, [error["pointer"] for error in answer.json["errors"]]) == (422, faults)
    assert serving.client.get("/v1/rack").json["count"] == before


def test_more_than_there_is_can_t_be_used(serving: Stack) -> None:
    """Nor what a plan holds, nor a label of something else; the refusal says how many there are and who has them."""
    lay(serving, "tern-9", "T9", count=2)
    address = "/v1/rack/T9"
    answer = serving.client.post(f"{address}/uses", json={"count": 3})
    assert (answer.status_code, answer.json["errors"][0]["code"]) == (422, "rack_too_few")
    number = planned(serving, four("tern-9"))["number"]
    answer = serving.client.post(f"{address}/uses", json={"count": 2})
    assert (answer.status_code, answer.json["errors"][0]["code"]) == (422, "rack_reserved")
    assert f"plan {number} holds 1" in answer.json["errors"][0]["detail"]
    assert serving.client.delete(address).status_code == 422
    assert serving.client.post(f"{address}/uses", json={}).status_code == 204
    assert serving.client.post("/v1/rack/nothing/uses", json={}).status_code == 404
    again = {"units": "in", "pieces": [{"label": "T9", "material": "tern-9", "length": 9}]}
    answer = serving.client.post("/v1/rack", json=again)
    assert answer.json["errors"][0]["code"] == "label_twice"


def test_many_at_once_never_share_an_offcut(alone: Stack) -> None:
    """Forty plans of one B by eight at a time, twenty offcuts: each is used once, and twenty plans buy a panel.

    The first eight are all made of the rack as it lies there full, and want the same offcut: seven find it taken, are
    planned again, and say so.
    """
    pieces = [{"label": f"M-{n}", "material": "tern", "length": 50 + n / 4} for n in range(20)]
    assert alone.client.post("/v1/rack", json={"units": "in", "pieces": pieces}).status_code == 201
    body = four("tern")
    body["required"][0]["quantity"] = 1
    ids = [alone.posted(body) for _ in range(40)]
    lazily.load()  # a module that loads when first used does not bear eight threads' first use
    together, tries = Barrier(8), Counter[str]()

    def make(plan_id: str) -> None:
        def plan(job: Job) -> CutPlan:
            tries[plan_id] += 1
            made = solver.plan_job(job, time.monotonic)
            if tries[plan_id] == 1 and plan_id in ids[:8]:
                together.wait(60)
            return made

        assert alone.store.start(plan_id, 1)
        job = alone.store.job(plan_id)
        assert job
        assert settle(alone.store, alone.record(plan_id), job, plan, lambda _: State.SUCCEEDED)

    with ThreadPoolExecutor(8) as crowd:
        list(crowd.map(make, ids))
    plans = [alone.client.get(f"/v1/cut-plans/{plan_id}").json for plan_id in ids]
    assert Counter(label for plan in plans for label in used(plan)) == Counter(f"M-{n}" for n in range(20))
    assert Counter(plan["result"]["order_total"] for plan in plans) == {"0.00": 20, "9.80": 20}
    held = [piece["held"] for piece in alone.client.get("/v1/rack").json["pieces"]]
    assert [len(holds) for holds in held] == [1] * 20
    again = [plan for plan in plans[:8] if plan["result"]["warnings"]]
    assert len(again) == 7
    (notice, *_) = again[0]["result"]["warnings"]
    assert (notice["code"], notice["pointer"], notice["material"]) == ("offcut_taken", "#/rack", "tern")
    assert "was taken by plan" in notice["detail"]
    assert "planned again with what is left" in notice["detail"]


def test_who_always_comes_too_late_is_planned_without_the_rack(alone: Stack) -> None:
    """Somebody takes what is to be used again and again: in the end the plan buys, says so, and has come to an end."""
    plan_id, pieces = alone.posted(four("tern")), [{"material": "tern", "length": "61 1/2"}]

    def robbed(job: Job) -> CutPlan:
        rack = Rack(alone.store.redis, ANYBODY)
        for entry in rack.entries():
            rack.take(entry.label)
        alone.client.post("/v1/rack", json={"units": "in", "pieces": pieces})
        return solver.plan_job(job, time.monotonic)

    alone.client.post("/v1/rack", json={"units": "in", "pieces": pieces})
    assert alone.store.start(plan_id, 1)
    job = alone.store.job(plan_id)
    assert job
    assert settle(alone.store, alone.record(plan_id), job, robbed, lambda _: State.SUCCEEDED)
    result = alone.client.get(f"/v1/cut-plans/{plan_id}").json["result"]
    assert (result["order_total"], [notice["code"] for notice in result["warnings"]]) == (
        "19.60", [*["offcut_taken"] * 7, "rack_left_out"],
    )  # fmt: skip


def test_an_order_called_off_while_it_was_planned_holds_nothing(alone: Stack) -> None:
    """Nothing of it will be cut, though the plan be made by then and only its result not be kept yet.

    Taken up again it holds what it uses.
    """
    alone.client.post("/v1/rack", json={"units": "in", "pieces": [{"material": "tern", "length": "61 1/2"}]})
    plan_id = alone.posted(four("tern"))
    address = f"/v1/cut-plans/{plan_id}/particulars"

    class CalledOff(Store):
        """A store in which the order is called off just before the result is kept."""

        def finish(self, *result: Any) -> bool:  # noqa: ANN401
            assert alone.client.put(address, json={"called_off": True}).status_code == 200
            return super().finish(*result)

    assert alone.store.start(plan_id, 1)
    job, late = alone.store.job(plan_id), CalledOff(alone.store.redis)
    assert job
    assert settle(late, alone.record(plan_id), job, planned_here, lambda _: State.SUCCEEDED)
    assert [free for _, _, free in lying(alone, "tern")] == [1]
    assert alone.client.put(address, json={"called_off": False}).status_code == 200
    assert [free for _, _, free in lying(alone, "tern")] == [0]


def planned_here(job: Job) -> CutPlan:
    """Plan a job as a worker does."""
    return solver.plan_job(job, time.monotonic)


def test_an_offcut_is_no_longer_than_its_stick(serving: Stack) -> None:
    """Where the catalogue knows how long sticks of a material are."""
    stock = [{"id": "12-6", "length": "12' 6\""}]
    body = {"units": "in", "category": "siding", "stock": stock}
    assert serving.client.put("/v1/materials/tern-10", json=body).status_code == 201
    pieces = [{"material": "tern-10", "length": length} for length in ("12' 6\"", "12' 7\"")]
    answer = serving.client.post("/v1/rack", json={"units": "in", "pieces": pieces})
    assert [(error["pointer"], error["code"]) for error in answer.json["errors"]] == [
        ("#/pieces/1/length", "offcut_too_long")
    ]  # fmt: skip


def test_what_is_damaged_keeps_nobody_from_the_rest(serving: Stack) -> None:
    """One label of three can't be read: the others are listed, and held by a plan as before."""
    lay(serving, "tern-11", "T11")
    name = Rack(serving.store.redis, ANYBODY).name
    serving.store.redis.hset(name, mapping={"torn": "{", "bare": "{}"})
    try:
        assert lying(serving, "tern-11") == [("T11", 1, 1)]
        assert used(planned(serving, four("tern-11"))) == ["T11"]
        assert serving.client.get("/v1/rack/torn").status_code == 404
    finally:
        serving.store.redis.hdel(name, "torn", "bare")


def test_what_only_the_rack_is_long_enough_for_is_planned(serving: Stack) -> None:
    """A piece of 160 in that may not be lapped, of panels of 150: a stick of 16'-8" on the rack does it."""
    piece = {"material": "tern-12", "length": "160", "quantity": 1}
    body = four("tern-12", required=[piece])
    body["materials"][0] = body["materials"][0] | {"lap": None}
    refused = serving.post(body)
    assert [error["code"] for error in refused.json["errors"]] == ["longer_than_stock"]
    lay(serving, "tern-12", "T12", length="16' 8\"")
    assert used(planned(serving, body)) == ["T12"]
    assert serving.post(body).status_code == 422
