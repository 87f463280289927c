"""What a crew's week cuts of what is there already: offcuts of the rack and whole sticks of the shop."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest

from solver.errors import Unplannable
from solver.materials import FactoryEnd, Offcut
from solver.required import Required
from solver.weekly.patterns import column_pool
from solver.weekly.week import DatedJob, Delivery, Sticks, Week
from tests.scenario import PANEL, inches
from tests.support.weeks import MONDAY, NORTH, THURSDAY, planned, week


def with_offcuts_and_sticks() -> Week:
    """Four of 60 on Monday; four offcuts of 64 lie on the rack, and three panels came."""
    job = DatedJob("north-wall", MONDAY, (Required("A", "panel-sand", inches(60), 4),))
    came = Delivery(MONDAY, (Sticks("panel-sand", PANEL.stock[0].id, 3),))
    return replace(
        week(), jobs=(job,), deliveries=(came,), rack=(Offcut("R-1", "panel-sand", inches(64), 4, FactoryEnd.NONE),)
    )


@pytest.fixture(params=["listed", "generated"])
def _ways(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    """All ways to cut a stick are listed, or sought as where there are too many."""
    if request.param == "generated":
        monkeypatch.setattr(column_pool, "ENUMERATION_STEPS", 0)


@pytest.mark.usefixtures("_ways")
def test_offcuts_are_cut_before_whole_sticks_of_the_shop() -> None:
    """Neither costs anything any more, but a whole panel can go back: each of the four comes from an offcut."""
    (monday,) = planned(with_offcuts_and_sticks()).days
    (part,) = monday.plan.materials
    assert [stick.offcut_id for _, stick in part.sticks()] == ["R-1"] * 4


@pytest.mark.usefixtures("_ways")
def test_one_piece_takes_an_offcut_and_no_whole_stick() -> None:
    """Two offcuts of 61 1/2 in lie on the rack and four panels in the shop: 38 in come from an offcut."""
    asked = with_offcuts_and_sticks()
    job = replace(asked.jobs[0], required=(Required("A", "panel-sand", inches(38)),))
    rack = (Offcut("R-17", "panel-sand", inches("61.5"), 2, FactoryEnd.LEFT),)
    ((part,),) = (day.plan.materials for day in planned(replace(asked, jobs=(job,), rack=rack)).days)
    assert [stick.offcut_id for _, stick in part.sticks()] == ["R-17"]


@pytest.mark.usefixtures("_ways")
def test_sticks_of_the_shop_are_opened_last() -> None:
    """Five panels came. Four would carry one offcut less, but three do, and two stay whole."""
    came = replace(week(), deliveries=(Delivery(MONDAY, (Sticks("panel-sand", PANEL.stock[0].id, 5),)),))
    plan = planned(came)
    assert sum(stick.offcut_id is None for day in plan.days for p in day.plan.materials for _, stick in p.sticks()) == 3


def with_rack_alone() -> Week:
    """Monday's three of 100 come from three offcuts of 112; sticks come on Thursday only."""
    rack = (Offcut("R-1", "panel-sand", inches(112), 3, FactoryEnd.NONE),)
    return replace(week(), jobs=(NORTH,), deliveries=(Delivery(THURSDAY),), rack=rack)


@pytest.mark.parametrize("deliveries", [(Delivery(THURSDAY),), ()], ids=["later", "never"])
def test_what_the_rack_covers_needs_no_delivery(deliveries: tuple[Delivery, ...]) -> None:
    """Nothing is bought, and nothing is missing."""
    plan = planned(replace(with_rack_alone(), deliveries=deliveries))
    assert (plan.cost, plan.missing) == (Decimal(0), ())
    (part,) = plan.days[0].plan.materials
    assert [stick.offcut_id for _, stick in part.sticks()] == ["R-1"] * 3


def test_what_the_rack_does_not_cover_is_refused_before_a_delivery() -> None:
    """Two offcuts of 112 are less than the 300 in that are wanted."""
    asked = with_rack_alone()
    with pytest.raises(Unplannable) as error:
        planned(replace(asked, rack=(replace(asked.rack[0], quantity=2),)))
    assert [problem.code for problem in error.value.problems] == ["before_any_delivery"]
