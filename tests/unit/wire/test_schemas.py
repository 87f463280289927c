"""From a request's JSON to a job: what every field becomes, and which way it is rounded."""

from __future__ import annotations

import json
from dataclasses import fields
from decimal import Decimal
from fractions import Fraction
from typing import Any

import pytest

from service.http.problems import Problem
from service.http.strict_json import parse
from service.wire import read_job
from service.wire.base import field_errors, put
from service.wire.fields import Fault
from service.wire.materials.material import SettingsSchema
from solver.categories import DEFAULTS, Category, LapEnds, Settings
from solver.job import BelowMinimum, Job, MinimumOrder, Supplier
from solver.lengths import Unit
from solver.materials import FactoryEnd
from solver.required import Edge, End, Keeps, Meets, Ripped, Side, Slope
from tests.scenario import inches
from tests.scenario import shed as shed_job
from tests.support.shed import SHED, shed, shed_with

EVERYTHING: dict[str, Any] = {
    "name": "Tern Cottage", "units": "in",
    "materials": [
        {"id": "panel-sand", "description": "double 4 in panel, sand", "category": "siding",
         "stock": [{"id": "12-6", "length": "12' 6\"", "code": "S-126", "price": "9.80", "available": 40, "carton": 24,
                    "singles": False, "carton_price": 220, "lap": "1 1/4", "end_gap": "3/8", "fixed_cost": 4,
                    "wait_days": 10, "breaks_count": "material",
                    "breaks": [{"sticks": 48, "price": "9.20", "carton_price": 210}]}],
         "lap": 1, "end_gap": "1/4", "kerf": 0, "lap_ends": "renotched", "shortest_piece": 24, "lap_spacing": 20,
         "lap_repeat": 2, "in_line_within": 1, "extra_laps": 1, "lap_price": "0.4", "keep_offcuts_from": 30,
         "cut_price": "0.25", "pattern_price": 3, "offcut_value": "0.30", "spare_percent": 5, "spare_sticks": 2,
         "supplier": "North"}
    ],
    "walls": [{"id": "north", "viewed_from": "left"}, {"id": "east", "viewed_from": "10'"}, {"id": "west"}],
    "required": [
        {"mark": "N", "ref": "row 7", "material": "panel-sand", "length": "27' 4\"", "quantity": 1,
         "left_end": "channel",
         "right_end": {"meets": "channel", "pitch": "6/12", "leans": "left", "long_edge": "bottom",
                       "upright": "4 3/16"},
         "wall": "north", "start": -2, "first_course": 1, "courses": 3,
         "keep_clear": [{"from": "8' 2\"", "to": "11' 2\"", "first": 3, "last": 3}],
         "cut_outs": [{"from": 40, "to": 46.5, "edge": "top", "height": "5 1/8", "course": 2}],
         "rips": [{"left": "2 3/4", "right": 3, "keeps": "lip", "course": 3}]},
        {"mark": "C", "material": "panel-sand", "length": "34 1/2", "room": "1/2"}
    ],
    "offcuts": [{"id": "R-17", "material": "panel-sand", "length": "61 1/2", "quantity": 2, "factory_end": "left"}],
    "goods": [{"what": "house wrap", "quantity": 2, "unit": "packs", "product": "wrap 9 ft"},
              {"what": "nails", "quantity": 5.2, "unit": "lb"}],
    "minimum_order": {"amount": 100, "below": "fee", "fee": "7.50"},
    "suppliers": [{"name": "North", "minimum_order": {"amount": 50, "below": "refused"}, "order_cost": 5,
                   "delivery": "12.50", "free_delivery_from": 400}],
    "within_days": 14, "limits": {"seconds": 3},
}  # fmt: skip
"""A request with every field there is."""


def job_of(body: object) -> Job:
    """Return the job of a body as it would come over the wire."""
    return read_job(parse(json.dumps(body).encode()))


def test_the_shed_is_the_shed() -> None:
    """The contract's request is the job that every other test of the solver plans."""
    assert job_of(SHED) == shed_job()


def test_every_field_arrives() -> None:
    """Nothing of a request with every field is lost or bent."""
    job = job_of(EVERYTHING)
    (material,), (row,), (item, short), (offcut,) = job.materials, job.materials[0].stock, job.required, job.offcuts
    assert (job.name, job.units, job.seconds) == ("Tern Cottage", Unit.IN, 3.0)
    assert (row.code, row.price, row.available, row.carton) == ("S-126", Decimal("9.80"), 40, 24)
    assert (row.wait_days, job.within_days) == (10, 14)
    assert (row.singles, row.carton_price, row.lap, row.end_gap) == (
        False, Decimal(220), inches("1.25"), inches("0.375"),
    )  # fmt: skip
    settings = material.settings
    assert (settings.lap_ends, settings.lap_spacing, settings.lap_repeat) == (LapEnds.RENOTCHED, inches(20), 2)
    assert (settings.extra_laps, settings.keep_offcuts_from, settings.spare_percent) == (1, inches(30), Decimal(5))
    assert (settings.lap_price, settings.cut_price) == (Decimal("0.4"), Decimal("0.25"))
    assert (settings.pattern_price, settings.offcut_value) == (Decimal(3), Decimal("0.30"))
    minimum = MinimumOrder(Decimal(50), BelowMinimum.REFUSED)
    assert job.supplier_of(material) == Supplier("North", minimum, Decimal(5), Decimal("12.50"), Decimal(400))
    assert [wall.viewed_from for wall in job.walls] == [Side.LEFT, inches(120), None]
    assert (item.length, short.room, item.start, item.courses) == (inches(328), inches("0.5"), inches(-2), 3)
    assert item.right_end == End(Meets.CHANNEL, Slope(Fraction(1, 2), Side.LEFT, Edge.BOTTOM, inches("4.1875")))
    assert (item.keep_clear[0].start, item.keep_clear[0].end, item.keep_clear[0].last) == (inches(98), inches(134), 3)
    assert (item.cut_outs[0].end, item.cut_outs[0].height, item.cut_outs[0].course) == (
        inches("46.5"), inches("5.125"), 2,
    )  # fmt: skip
    assert item.rips == (Ripped(inches("2.75"), inches(3), Keeps.LIP, 3),)
    assert [(good.what, good.quantity, good.unit, good.product) for good in job.goods] == [
        ("house wrap", 2, "packs", "wrap 9 ft"), ("nails", Decimal("5.2"), "lb", None),
    ]  # fmt: skip
    assert (offcut.length, offcut.quantity, offcut.factory_end) == (inches("61.5"), 2, FactoryEnd.LEFT)


@pytest.mark.parametrize("category", list(Category))
def test_what_is_left_out_takes_the_defaults_of_the_category(category: Category) -> None:
    """A material that names its category alone has that category's allowances."""
    job = job_of(shed_with("materials/0/category", category) | {"required": SHED["required"][1:]})
    assert job.materials[0].settings == DEFAULTS[category]


def test_a_lap_of_null_is_not_a_lap_left_out() -> None:
    """``null`` says that a material may not be lapped; leaving it out says the category's lap."""
    unlapped = SHED["required"][1:]
    assert job_of(shed_with("materials/0/lap", None) | {"required": unlapped}).materials[0].settings.lap is None
    assert job_of(SHED).materials[0].settings.lap == inches(1)


def test_marks_left_out_are_counted() -> None:
    """Items without a mark are called 1, 2, … by their place."""
    body = shed()
    for item in body["required"][:2]:
        del item["mark"]
    assert [item.mark for item in job_of(body).required] == ["1", "2", "C"]


THIRD = 1 / 3


@pytest.mark.parametrize(("path", "ticks"), [
    ("materials/0/stock/0/length", 1 * 8128 * 150 + 2709),  # down: a stick is never longer than it is
    ("materials/0/kerf", 2710),  # up: the saw never takes less than it takes
    ("required/1/length", 8128 * 50 + 2709),  # to nearest
])  # fmt: skip
def test_which_way_a_third_of_an_inch_is_rounded(path: str, ticks: int) -> None:
    """8128/3 = 2709 1/3 ticks: stock goes down, kerf up, pieces to nearest."""
    whole = {"materials/0/stock/0/length": 150, "required/1/length": 50}.get(path, 0)
    job = job_of(shed_with(path, whole + THIRD))
    found = {
        "materials/0/stock/0/length": job.materials[0].stock[0].length,
        "materials/0/kerf": job.materials[0].settings.kerf,
        "required/1/length": job.required[1].length,
    }
    assert found[path] == ticks


def test_decimals_are_read_exactly() -> None:
    """0.1 mm is 32 ticks, although no binary fraction is a tenth."""
    body = shed_with("units", "mm")
    body["materials"][0]["stock"][0]["length"] = 3810
    body["required"] = [{"material": "panel-sand", "length": 1270.1}]
    job = job_of(body)
    assert job.required[0].length == 12701 * 32


def test_a_whole_number_may_be_written_with_a_point() -> None:
    """JSON knows no integers: a quantity of 4.0 is 4."""
    assert job_of(shed_with("required/0/quantity", 4.0)).required[0].quantity == 4


def test_all_faults_are_told_at_once() -> None:
    """Faults of single fields and across fields come in one answer."""
    body = shed_with("required/0/material", "panel-clay")
    body["required"][1]["length"] = "ten-ish"
    body["materials"].append(body["materials"][0])
    with pytest.raises(Problem) as caught:
        job_of(body)
    assert {error.pointer for error in caught.value.errors} == {
        "#/required/0/material", "#/required/1/length", "#/materials/1/id",
    }  # fmt: skip


def test_pointers_are_escaped() -> None:
    """Slash and tilde in a field's name are written as RFC 6901 has it."""
    with pytest.raises(Problem) as caught:
        job_of({**shed(), "a/b~c": 1})
    assert [error.pointer for error in caught.value.errors] == ["#/a~1b~0c"]


@pytest.mark.parametrize("order", [1, -1])
def test_a_place_and_what_is_below_it_may_both_be_wrong(order: int) -> None:
    """Too many pieces in all and an unknown material in one line, told in either order: both places are named."""
    tree: dict[Any, Any] = {}
    for path in [("required",), ("required", 0, "material"), ("required", 0)][::order]:
        put(tree, path, Fault("is wrong", "wrong_form"))
    assert [error.pointer for error in field_errors(tree)] == ["#/required", "#/required/0", "#/required/0/material"]


@pytest.mark.parametrize(("path", "value", "code"), [
    ("required/0/quantity", 0, "out_of_range"), ("required/0/quantity", "4", "wrong_type"),
    ("required/0/quantity", 1.5, "not_whole"), ("materials/0/stock/0/price", "x", "wrong_form"),
    ("materials/0/stock/0/price", "9.80001", "too_many_decimals"), ("name", None, "null"),
    ("colour", 1, "unknown_field"), ("required/0/material", "panel-clay", "id_unknown"), ("required", [], "wrong_size"),
    ("units", "hand", "not_a_choice"), ("walls", 3, "wrong_type"), ("name", "a\tb", "control_character"),
    ("materials/0/stock/0/singles", False, "needs_another"), ("required/0/length", "10-1", "ambiguous_length"),
    ("minimum_order", {"amount": 70, "below": "fee"}, "missing"),
    ("required/0/length", -1, "length_out_of_range"), ("required/0/quantity", 100_000, "too_many_pieces"),
    ("materials/0/id", 3, "wrong_type"), ("limits", {"seconds": 0}, "out_of_range"),
])  # fmt: skip
def test_every_fault_has_a_code(path: str, value: object, code: str) -> None:
    """Programs branch on codes, not on words: none is without, whatever found the fault."""
    with pytest.raises(Problem) as caught:
        job_of(shed_with(path, value))
    codes = [error.code for error in caught.value.errors]
    assert code in codes
    assert None not in codes


@pytest.mark.parametrize(("path", "value", "question"), [
    ("required/0/lenght", 12, "unknown field; did you mean length?"),
    ("requierd", [], "unknown field; did you mean required?"),
    ("required/0/material", "panel-sandd", "is no material of this request; did you mean panel-sand?"),
    ("colour", 1, "unknown field"),
    ("l" * 41, 1, "unknown field"),
])  # fmt: skip
def test_a_near_miss_is_named(path: str, value: object, question: str) -> None:
    """A slip of the hand in a name is told with the name it is nearest to, if one is near."""
    with pytest.raises(Problem) as caught:
        job_of(shed_with(path, value))
    assert (f"#/{path}", question) in [(error.pointer, error.detail) for error in caught.value.errors]


@pytest.mark.parametrize(
    ("name", "entry", "most"),
    [("materials", {"id": "panel-sand"}, 50), ("walls", {"id": "north"}, 1_000), ("required", {"quantity": 100}, 5_000),
     ("offcuts", {"id": "R-17", "material": "panel-clay", "quantity": 100}, 5_000),
     ("materials/0/stock", {"id": "12-6"}, 100)],
)  # fmt: skip
def test_of_a_list_that_is_too_long_nothing_else_is_said(name: str, entry: dict[str, object], most: int) -> None:
    """Its entries are looked at by nobody, for there may be a million of them; nor is anything said to be unknown."""
    with pytest.raises(Problem) as caught:
        job_of(shed_with(name, [entry] * (most + 1)))
    assert [(error.pointer, error.code) for error in caught.value.errors] == [(f"#/{name}", "wrong_size")]


def test_every_setting_of_a_material_is_described_with_its_label_on_the_page() -> None:
    """A setting is one line of the wire: what it takes, what the contract says, and what the page calls it."""
    described = SettingsSchema().fields
    assert set(described) == {setting.name for setting in fields(Settings)}
    labels = [field.metadata["label"] for field in described.values()]
    assert all(labels)
    assert len(set(labels)) == len(labels)
