"""A day as planned but for what is said: Monday of ``tests.support.weeks``, three panels that leave 50 in each."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import pytest
from marshmallow import ValidationError

from service.wire.week_report import report_of
from solver.materials import FactoryEnd, Offcut
from solver.weekly.plan import DayPlan
from solver.weekly.week import Report
from tests.scenario import inches
from tests.support.weeks import SHED, planned, week

MONDAYS, _ = planned(week()).days
LABELS = tuple(offcut.label for offcut in MONDAYS.kept)


def reported(sheet: DayPlan, **told: object) -> Report:
    """Return the report of a day as planned, but for what is said."""
    return report_of({"as_planned": True, **told}, week(), sheet, sheet.date)


def panels(count: int) -> list[Mapping[str, Any]]:
    """Return so many panels as a report says them."""
    return [{"material": "panel-sand", "stock": "12-6", "count": count}]


@pytest.mark.parametrize(("told", "kept"), [
    ({}, LABELS), ({"sticks": panels(3)}, LABELS), ({"sticks": panels(4)}, LABELS),
    ({"sticks": [*panels(2), *panels(1)]}, LABELS), ({"sticks": []}, ()),
    ({"sticks": panels(2), "kept": []}, ()),
])  # fmt: skip
def test_what_is_kept_came_of_what_was_used(told: Mapping[str, object], kept: tuple[str, ...]) -> None:
    """Of no panel nothing is left; of a fourth nobody knows what became."""
    assert tuple(one.offcut.id for one in reported(MONDAYS, **told).kept) == kept


def test_which_of_several_were_left_has_to_be_said() -> None:
    """Two of three panels leave two offcuts, and each has its label written on it."""
    with pytest.raises(ValidationError) as refused:
        reported(MONDAYS, sticks=panels(2))
    assert refused.value.messages_dict == {"kept": ["2 of 3 panel-sand 12-6 were used: say what was kept"]}


def test_an_offcut_that_was_not_used_leaves_nothing() -> None:
    """One piece of 50 in comes out of 110 in from the rack, and 60 in are left to keep."""
    shed = replace(SHED, required=(replace(SHED.required[0], quantity=1),))
    rack = (Offcut("R-17", "panel-sand", inches(110), 1, FactoryEnd.LEFT),)
    (day,) = planned(replace(week(), jobs=(shed,), rack=rack)).days
    assert [one.offcut.length for one in reported(day).kept] == [inches(60)]
    assert reported(day, used=[]).kept == ()
