"""The form for what was measured: it says all that a take-off takes, keeps what it opens, and tells faults plainly."""

from __future__ import annotations

import re
from collections.abc import Iterator
from copy import deepcopy
from dataclasses import fields, replace
from typing import Any

import pytest

from service.alternatives import restocked
from service.counter.changes import changed
from service.counter.house.asked import take_off_request
from service.counter.house.changes import HOUSE_CHANGES
from service.counter.house.entries import HOUSE, Group
from service.counter.house.form import HouseForm, Row, empty_house, read_house
from service.counter.house.stored import opened
from service.counter.house.surveyed import job_of_house, surveyed
from service.counter.house.words import LABELS, label_of, options_of
from service.counter.measure_page import shown_of
from service.counter.plan.again import other_job
from service.counter.request import Refused
from service.wire.takeoffs.takeoff import read_take_off
from solver.takeoff.measured import Role
from tests.support.measured import MEASURED

Json = dict[str, Any]
_CODE = re.compile(r"#/|\b[a-z]+_[a-z_]+\b")
"""A JSON pointer, or a word that only a program would write."""


def groups(group: Group = HOUSE) -> Iterator[Group]:
    """Yield every kind of row."""
    yield group
    for below in group.below:
        yield from groups(below)


def fields_of(form: HouseForm) -> dict[str, str]:
    """Return the fields of a form as the page sends them."""
    told = {"units": form.units, "job": form.job, "plan": form.plan, "token": "t"}
    told |= {f"use-{role}": place for role, place in form.also}
    for place, row in enumerate(form.materials):
        told |= {f"m{place}-name": row.name, f"m{place}-role": row.role, f"m{place}-of": row.of}
        told[f"m{place}-category"] = row.category
        told |= {f"m{place}-{name}": text for name, text in row.settings.items()}
        for at, stock in enumerate(row.stock):
            texts = {each.name: getattr(stock, each.name) for each in fields(stock)}
            told |= {f"m{place}-s{at}-{name}": str(text) for name, text in texts.items() if text is not False}
    for place, cut in enumerate(form.offcuts):
        told |= {f"o{place}-length": cut.length, f"o{place}-quantity": cut.quantity, f"o{place}-id": cut.id}
        told |= {f"o{place}-material": cut.material, f"o{place}-factory_end": cut.factory_end, f"o{place}-of": cut.of}
    told |= {f"without-{name}": "1" for name in form.without}
    return told | dict(_texts(form.house, ""))


def _texts(row: Any, at: str) -> Iterator[tuple[str, str]]:  # noqa: ANN401
    prefix = f"{at}-" if at else ""
    for name in row.group.entries:
        yield prefix + name, row[name]
    if at:
        yield f"{prefix}of", row.of
    for group in row.group.below:
        for place, below in enumerate(row.below(group.name)):
            yield from _texts(below, f"{prefix}{group.letter}{place}")


def everything() -> Json:
    """Return the measured shed with every kind of row, and with what the page has no field for."""
    body = deepcopy(MEASURED)
    body["limits"] = {"seconds": 5}
    body["settings"] = {"temperature": -5, "vented": "0.25", "corners": "square", "cold": True, "sliver": "1 1/2"}
    body["materials"][0] |= {"description": "sand", "lap": "1 1/4", "extra_laps": 1, "lap_spacing": 30}
    body["materials"][0]["stock"][0] |= {"price": "9.80", "carton": 24, "carton_price": "230.00", "lap": "1 1/2"}
    body["uses"]["soffit_channel"] = "channel"
    west, south = body["walls"]
    west |= {"finish": "rip", "bottom": {"meets": "deck", "takes_up": 1}, "viewed_from": 40, "grade": -8}
    west["elevation"] = 14
    west["openings"][1] |= {"takes_up": {"sill": "3/4"}, "rises": "-1/2", "own_channel": True}
    south["edges"] = [{"edge": 2, "meets": "masonry", "takes_up": "1/4"}]
    south["rake"] = {"meets": "soffit", "takes_up": "1/4"}
    body["ceilings"][0] |= {"panels": "length", "last": "both", "divider": 1, "nailers": 3, "takes_up": "1/4"}
    body["eaves"] = [
        {"id": "N", "length": "22' 6\"", "overhang": 12, "right": "mitred", "right_corner": "a", "fascia": False},
        {"id": "E", "length": 216, "overhang": "1 ft", "left": "mitred", "left_corner": "a"},
    ]
    body["goods"] = [{"need": "house_wrap", "id": "wrap 9 ft", "holds": 900}]
    body["materials"].append({"id": "shake", "category": "shake", "stock": [{"id": "5'", "length": "5'"}]})
    body["panels"] = [{"material": "shake", "exposure": 7, "hem": "1"}]
    south["panel"] = "shake"
    body["without"] = ["wrap_tape", "drip_cap"]
    body["within_days"] = 10
    body["suppliers"] = [{"name": "North", "delivery": "12.50"}]
    west["right"]["material"] = "post"
    west["openings"][2] |= {"sold_as": "vent"}
    west["openings"][0] |= {"wrapped": False}
    body["offcuts"] = [{"id": "R-17", "material": "panel-sand", "length": "61 1/2", "factory_end": "left"}]
    return body


def test_the_examples_are_taken() -> None:
    """What the tests below begin with can be taken off."""
    assert read_take_off(everything()).house.eaves


def test_every_field_is_called_by_words() -> None:
    """A field that is new in the request is on the page at once; no label is left of one that is gone."""
    for group in groups():
        assert set(LABELS.get(group.name, {})) <= set(group.entries), group.name
        assert not [name for name in group.entries if _CODE.search(label_of(group, name))], group.name


@pytest.mark.parametrize("body", [MEASURED, everything()], ids=["the shed", "everything"])
def test_what_is_opened_and_sent_back_is_what_was_posted(body: Json) -> None:
    """Nothing is changed by looking at it: not what the page shows, nor what it does not."""
    form = read_house(fields_of(opened(body).form))
    assert opened(body).request(take_off_request(form)) == body


def test_one_figure_changed_is_one_figure_changed() -> None:
    """A window is moved, an eave taken out, a corner of the gable raised: all else is as it was posted."""
    body = everything()
    form = opened(body).form
    form = changed(form, "drop:e0", HOUSE_CHANGES)
    told = fields_of(form) | {"w0-o1-left": "150", "w1-p3-up": "14'"}
    body["walls"][0]["openings"][1]["from"] = "150"
    body["walls"][1]["outline"][3] = ["108", "14'"]
    body["eaves"] = body["eaves"][1:]
    assert opened(everything()).request(take_off_request(read_house(told))) == body


def test_a_material_is_renamed_wherever_it_is_spoken_of() -> None:
    """Uses and offcuts follow the new name; the stock keeps its own."""
    told = fields_of(opened(everything()).form) | {"m0-name": "panel sand 2"}
    body = opened(everything()).request(take_off_request(read_house(told)))
    assert body["uses"]["panel"] == body["offcuts"][0]["material"] == body["materials"][0]["id"] == "panel sand 2"
    assert body["materials"][0]["stock"] == everything()["materials"][0]["stock"]


def test_a_plan_with_other_stock_keeps_what_was_measured() -> None:
    """Out of a length, the measurements say so too; twice the pieces are no measurements any more."""
    job, _, body = job_of_house(opened(MEASURED).form)
    form = opened(body).form
    out = other_job(job, None, f"out:4:{job.materials[4].stock[0].id}", {}, lambda *_: None)
    assert out
    stock = opened(restocked(body, job, out) or {}).form.materials[4].stock
    assert [(row.length, row.out) for row in stock] == [("10'-0\"", True), ("20'-0\"", False)]
    assert opened(restocked(body, job, out) or {}).form.house == form.house
    row = job.materials[0]
    fewest = replace(job, materials=(replace(row, settings=replace(row.settings, extra_laps=0)), *job.materials[1:]))
    told, before = ((restocked(body, job, now) or {})["materials"] for now in (fewest, job))
    assert told == [before[0] | {"extra_laps": 0}, *before[1:]]
    soon = restocked(body, job, replace(job, within_days=0)) or {}
    assert soon == body | {"within_days": 0, "materials": before}
    twice = other_job(job, None, "copy", {"times": "2"}, lambda *_: None)
    assert twice
    assert restocked(body, job, twice) is None


def measured(**fields: str) -> HouseForm:
    """Return a form with one wall of 22'-6" by 93 in, channels at both ends, and one panel, with fields changed."""
    told = fields_of(empty_house("t")) | {
        "exposure": "8", "face": "3/4", "m0-s0-length": "12' 6\"",
        "w0-id": "west", "w0-width": "22' 6\"", "w0-height": "93", "w0-left": "channel", "w0-right": "channel",
    }  # fmt: skip
    return read_house(told | {name.replace("__", "-"): text for name, text in fields.items()})


FAULTY = {
    "w0__width": "wide", "w0__height": "tall", "w0__left": "outside_post", "w0__o0__kind": "window", "w0__o0__id": "W",
    "w0__o0__left": "40 50", "w0__o0__bottom": "", "w0__o0__width": "34", "w0__o0__height": "45",
    "w1__id": "south", "w1__width": "216", "w1__height": "93", "w1__left": "outside_post", "w1__right": "channel",
    "w1__top": "soffit_later", "w1__o0__kind": "door", "w1__o0__id": "D", "w1__o0__left": "190",
    "w1__o0__width": "64", "w1__o0__height": "83",
    "w2__id": "east", "w2__left": "channel", "w2__right": "channel", "w2__p0__along": "0", "w2__p0__up": "0",
    "w2__p1__along": "90", "w2__p1__up": "90", "w2__p2__along": "90", "w2__p2__up": "0", "w2__p3__along": "0",
    "w2__p3__up": "90", "exposure": "", "face": "", "c0__id": "porch", "c0__length": "10 feet of it", "c0__width": "8'",
    "settings_vented": "most", "settings_temperature": "cold", "m0__s0__price": "cheap",
}  # fmt: skip


def test_faults_of_walls_house_and_stock_at_once() -> None:
    """What can't be read hides neither what is missing beside it nor what does not fit elsewhere."""
    with pytest.raises(Refused) as refused:
        job_of_house(measured(**FAULTY))
    found = {fault.place: fault.text for fault in refused.value.faults}
    assert set(found) == {
        "exposure", "face", "coverage", "settings_vented", "settings_temperature", "w0-width", "w0-height",
        "w0-o0-left", "w0-o0-bottom", "w1-left_takes_up", "w1-o0-left", "w2-p0-along", "c0-length", "m0-s0-price",
    }  # fmt: skip
    assert found["exposure"].startswith("Exposure: ")
    assert found["w0-o0-bottom"] == "Wall west, window W, sill height: is missing"
    assert found["w1-o0-left"].startswith("Wall south: door D reaches")
    assert found["w2-p0-along"].startswith("Wall east: its outline cuts itself")
    assert not [text for text in found.values() if _CODE.search(text)]


def test_a_wall_at_fault_leaves_the_others() -> None:
    """The wall without a fault is taken off; the one whose post's depth is missing is outlined."""
    form = measured(
        w1__id="south", w1__width="216", w1__height="93", w1__left="inside_post", w1__right="channel",
    )  # fmt: skip
    survey = surveyed(form)
    assert survey.found
    assert [taken.wall.id for taken in survey.found.walls] == ["west"]
    assert [wall.id for wall in survey.outlined] == ["south"]


def test_without_an_exposure_nothing_is_figured() -> None:
    """An exposure that stands in while faults are looked for shows up in no figure."""
    survey = surveyed(measured(exposure=""))
    assert survey.found is None
    assert [wall.id for wall in survey.outlined] == ["west"]


def test_corners_that_are_one_are_drawn_as_one() -> None:
    """While all corners of an outline are still the same, there is nothing to scale by, and nothing fails."""
    points = {f"w0__p{n}__{it}": "0" for n in range(3) for it in ("along", "up")}
    form = measured(w0__width="", w0__height="", **points)
    assert [*shown_of(form, surveyed(form)).walls] == ["w0"]


def test_four_walls_have_four_posts() -> None:
    """Named by one press, each corner's post is counted once."""
    wall = {"width": "216", "height": "93", "left": "outside_post", "right": "outside_post"}
    wall |= {"left_takes_up": "1/2", "right_takes_up": "1/2"}
    sides = ("south", "east", "north", "west")
    fields = {f"w{n}__{it}": text for n, side in enumerate(sides) for it, text in (wall | {"id": side}).items()}
    form = changed(measured(**fields), "corners", HOUSE_CHANGES)
    posts = [piece.quantity for piece in surveyed(form).whole.trim if piece.role is Role.OUTSIDE_POST]
    assert sum(posts) == 4


def test_corners_come_and_go_with_their_edges() -> None:
    """A gable of five corners: the right slope begins at the third; with a corner put in before it, at the fourth."""
    form = measured(w0__peak="165", w0__g0__edge="2", w0__g0__meets="masonry", w0__g0__takes_up="")
    form = changed(form, "outline:w0", HOUSE_CHANGES)
    corners = [(row["along"], row["up"]) for row in form.walls[0].below("outline")]
    assert corners == [("0", "0"), ("22' 6\"", "0"), ("22' 6\"", "93"), ("11'-3\"", "165"), ("0", "93")]
    longer = changed(form, "insert:w0-p1", HOUSE_CHANGES)
    assert len(longer.walls[0].below("outline")) == 6
    assert [edge["edge"] for edge in longer.walls[0].below("edges")] == ["3"]
    assert changed(longer, "drop:w0-p2", HOUSE_CHANGES).walls == form.walls
    assert changed(form, "drop:w0-p2", HOUSE_CHANGES).walls[0].below("edges") == ()


def test_a_copied_wall_has_no_name_yet() -> None:
    """Copied with its openings, but with neither its name nor those of its corners."""
    form = measured(w0__left_corner="a", w0__o0__left="40", w0__o0__kind="door", w0__o0__id="D")
    copy = changed(form, "copy:w0", HOUSE_CHANGES).walls[1]
    assert (copy["id"], copy["left_corner"], copy["width"]) == ("", "", "22' 6\"")
    assert copy.below("openings")[0]["left"] == "40"


def test_another_kind_of_panel() -> None:
    """It comes with a material of its own, which walls keep through its new name, and when another one goes."""
    form = changed(replace(measured(), materials=opened(MEASURED).form.materials), "add-panel", HOUSE_CHANGES)
    form = read_house(fields_of(form) | {"w0-panel": "8", "k0-exposure": "7", "m8-name": "scallops"})
    body = take_off_request(changed(form, "drop-material:7", HOUSE_CHANGES)).body
    assert body["panels"] == [{"material": "scallops", "exposure": "7"}]
    assert body["walls"][0]["panel"] == body["materials"][-1]["id"] == "scallops"
    assert body["materials"][-1]["category"] == "shake"
    assert "panel" not in take_off_request(changed(form, "drop-material:8", HOUSE_CHANGES)).body["walls"][0]


def test_no_stock_is_no_fault_yet() -> None:
    """Until it is said in which lengths they are sold, upright panels are long enough, and not counted by length."""
    form = measured(m0__category="vertical", m0__s0__length="", w0__height="14'")
    survey = surveyed(form)
    assert survey.found
    assert not [name for name, _ in shown_of(form, survey).figures if "by length" in name]
    with pytest.raises(Refused) as refused:
        job_of_house(form)
    assert [fault.place for fault in refused.value.faults] == ["m0-s0-length"]


def test_one_material_may_serve_twice() -> None:
    """The J-channel is used for soffit too, and is not any more once it is taken out."""
    form = replace(measured(), materials=opened(MEASURED).form.materials)
    form = changed(changed(form, "drop-material:6", HOUSE_CHANGES), "use:soffit_channel:2", HOUSE_CHANGES)
    assert form.uses["soffit_channel"] == form.uses["channel"] == "channel"
    assert changed(form, "drop-material:0", HOUSE_CHANGES).uses["soffit_channel"] == "channel"
    assert "soffit_channel" not in changed(form, "drop-material:2", HOUSE_CHANGES).uses
    assert "soffit_channel" not in changed(form, "drop-use:soffit_channel", HOUSE_CHANGES).uses


def test_what_else_a_house_needs() -> None:
    """House wrap is bought once a product is named, and neither listed nor ordered once it is switched off."""
    form = measured()
    wrap = shown_of(form, surveyed(form)).needs[0]
    assert (wrap.need, wrap.bought) == ("house_wrap", "")
    form = changed(form, "add:b:house_wrap", HOUSE_CHANGES)
    form = read_house(fields_of(form) | {"b0-id": "wrap 9 ft", "b0-holds": "900"})
    assert shown_of(form, surveyed(form)).needs[0].bought == "1 × wrap 9 ft"
    off = changed(form, "without:house_wrap", HOUSE_CHANGES)
    assert "house_wrap" not in [need.need for need in shown_of(off, surveyed(off)).needs]
    assert changed(off, "with:house_wrap", HOUSE_CHANGES) == form


def test_every_word_that_can_be_chosen_is_said() -> None:
    """No option of a select shows a program's word."""
    for group in groups():
        row = Row(group)
        for name in (name for name, it in group.entries.items() if it.words):
            for value, said in options_of(row, name):
                assert said, (group.name, name, value)
                assert not _CODE.search(said), (group.name, name, value)
