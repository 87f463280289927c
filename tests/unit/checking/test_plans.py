"""The checker accepts right plans of the shed and its variants, and names what is wrong with a wrong one."""

from __future__ import annotations

from dataclasses import replace

import pytest

from solver.categories import LapEnds
from solver.checking import check
from solver.materials import FactoryEnd, Offcut
from solver.plan import CutEnd, CutPlan, MaterialPlan, NotCut, PatternUse
from solver.proof import Proof
from solver.required import End, Meets
from tests import scenario
from tests.scenario import inches
from tests.support import plans
from tests.support.plans import codes, with_part

VARIANTS = (
    "shed", "with_kerf", "with_offcuts", "with_two_lengths", "with_limited_stock", "with_spares", "with_cartons",
    "with_metric", "without_prices",
)  # fmt: skip


def with_pattern(plan: CutPlan, index: int, **changes: object) -> CutPlan:
    """Return the plan with one pattern changed."""
    patterns = list(plan.materials[0].patterns)
    patterns[index] = replace(patterns[index], **changes)  # type: ignore[arg-type]
    return with_part(plan, patterns=tuple(patterns))


def with_cut(plan: CutPlan, pattern: int, index: int, **changes: object) -> CutPlan:
    """Return the plan with one cut changed."""
    cuts = list(plan.materials[0].patterns[pattern].cuts)
    cuts[index] = replace(cuts[index], **changes)  # type: ignore[arg-type]
    return with_pattern(plan, pattern, cuts=tuple(cuts))


@pytest.mark.parametrize("variant", VARIANTS)
def test_accepts_a_right_plan(variant: str) -> None:
    """Each hand-made plan is right for its variant of the shed."""
    assert check(getattr(scenario, variant)(), getattr(plans, variant)()) == ()


@pytest.mark.parametrize("variant", [name for name in VARIANTS if name != "shed"])
def test_refuses_the_answer_to_another_question(variant: str) -> None:
    """The plan of the shed is no answer to a variant of it: six are not proven, not to be had or too few."""
    assert codes(getattr(scenario, variant)(), plans.shed())


def test_says_where_what_was_needed_and_what_was_found() -> None:
    """A fault points into the plan and gives both lengths."""
    fault = check(scenario.shed(), with_cut(plans.shed(), 1, 2, length=inches(49)))[0]
    assert fault.code == "cut_length"
    assert fault.place == "#/materials/0/patterns/1/sticks/0/pieces/2"
    assert fault.detail == "needed 4'-2\", found 4'-1\""


def test_a_channel_takes_its_gap_from_each_end() -> None:
    """142 7/8 in between two channels is cut 142 3/8 in (common practice, no source), not 142 7/8."""
    channel = End(Meets.CHANNEL)
    item = replace(scenario.A, length=inches("142.875"), left_end=channel, right_end=channel)
    job = replace(scenario.shed(), required=(item, scenario.B, scenario.C))
    assert check(job, plans.one_by_one(job, inches("142.375"))) == ()
    assert "cut_length" in codes(job, plans.one_by_one(job, inches("142.875")))


def test_refuses_a_stick_that_its_cuts_overfill() -> None:
    """Three pieces of 50 in fill 150 in without kerf, and not with 1/8 in."""
    assert "overfull" in codes(scenario.with_kerf(), plans.shed())


def test_refuses_a_left_over_of_less_than_three_feet_called_kept() -> None:
    """1/2 in is nothing to keep where 36 in are."""
    left = replace(plans.shed().materials[0].patterns[0].left_over, keep=True)
    assert codes(scenario.shed(), with_pattern(plans.shed(), 0, left_over=left)) == {"left_over"}


def test_a_left_over_at_the_left_takes_the_factory_end_from_the_lapped_piece() -> None:
    """The A is lapped at the left: with the left-over left of it, its end is a field end, which may not be lapped."""
    left = replace(plans.shed().materials[0].patterns[0].left_over, factory_end=FactoryEnd.LEFT, after=0)
    moved = with_pattern(with_cut(plans.shed(), 0, 0, left=CutEnd.FIELD), 0, left_over=left)
    moved = with_cut(moved, 0, 1, right=CutEnd.FACTORY)
    assert codes(scenario.shed(), moved) == {"end"}
    renotched = scenario.with_panel(settings=replace(scenario.PANEL.settings, lap_ends=LapEnds.RENOTCHED))
    values = tuple(replace(value, needs_left=False) for value in plans.SIX_PANELS.values)
    moved = with_part(moved, settings=renotched.materials[0].settings, proof=Proof("duals", 1, values))
    assert check(renotched, moved) == ()


def test_refuses_two_pieces_that_both_claim_the_left_end() -> None:
    """A stick has one left factory end."""
    assert codes(scenario.shed(), with_cut(plans.shed(), 1, 1, left=CutEnd.FACTORY)) == {"end"}


def test_refuses_an_offcut_used_more_often_than_there_is() -> None:
    """Two offcuts on hand are not three."""
    job = replace(scenario.with_offcuts(), offcuts=(replace(scenario.with_offcuts().offcuts[0], quantity=2),))
    assert "offcut" in codes(job, plans.with_offcuts())


def test_refuses_an_offcut_of_another_length() -> None:
    """The offcut on hand is shorter than the plan takes it for."""
    offcut = Offcut("R-17", "panel-sand", inches(60), 3, FactoryEnd.LEFT)
    assert "offcut" in codes(replace(scenario.with_offcuts(), offcuts=(offcut,)), plans.with_offcuts())


def test_refuses_more_of_a_limited_stock_than_there_is() -> None:
    """Six panels can't come out of five."""
    assert "stock" in codes(scenario.with_limited_stock(), plans.shed())


@pytest.mark.parametrize("quantity", [3, 5])
def test_refuses_a_missing_or_surplus_piece(quantity: int) -> None:
    """Four of C are cut: neither three nor five."""
    required = scenario.A, scenario.B, replace(scenario.C, quantity=quantity)
    assert "piece" in codes(replace(scenario.shed(), required=required), plans.shed())


def test_refuses_a_piece_both_cut_and_declared_uncut() -> None:
    """All are cut, so none is left to declare."""
    plan = replace(plans.shed(), not_cut=(NotCut(1, "B", 1, "stock_exhausted", ""),))
    assert "piece" in codes(scenario.shed(), plan)


def test_refuses_stock_exhausted_where_there_is_no_limit() -> None:
    """A supplier who has as many as wanted has not run out."""
    assert "not_cut" in codes(scenario.shed(), plans.with_limited_stock())


def test_refuses_stock_exhausted_where_a_left_over_would_do() -> None:
    """Leaving a B out of the second panel of three B leaves room for it."""
    plan = plans.with_room_for_one_more()
    assert "not_cut" in codes(scenario.with_limited_stock(), plan)


def test_refuses_ends_impossible_where_a_stick_fits() -> None:
    """An A fits a panel, so its ends are not the reason."""
    entries = tuple(replace(entry, code="ends_impossible") for entry in plans.with_limited_stock().not_cut)
    plan = replace(plans.with_limited_stock(), not_cut=entries)
    assert codes(scenario.with_limited_stock(), plan) == {"not_cut"}


def test_a_piece_lapped_at_both_ends_is_a_whole_stick() -> None:
    """148 in lapped at both ends are a whole panel; 118 in are no panel's length: their ends are impossible."""
    job, plan = plans.whole_panel(inches(148))
    assert check(job, plan) == ()
    job, plan = plans.whole_panel(inches(118))
    assert codes(job, plan) >= {"end"}
    assert check(job, plans.nothing_cut(job, "ends_impossible")) == ()
    assert codes(job, plans.nothing_cut(job, "stock_exhausted")) == {"not_cut"}


def test_room_costs_a_whole_panel_one_of_its_factory_ends() -> None:
    """149 1/2 in with 1/2 in of room fill a panel, but cut to measure they keep one factory end, not two."""
    job, plan = plans.whole_panel(inches("147.5"))
    roomy = replace(job, required=(replace(job.required[0], room=inches("0.5")),))
    assert "end" in codes(roomy, plans.with_room(plan, inches("0.5")))
    assert check(roomy, plans.nothing_cut(roomy, "ends_impossible")) == ()
    item = replace(roomy.required[0], length=inches("149.5"), left_end=End(), right_end=End())
    plain = replace(roomy, required=(item,))
    one_end = with_cut(plans.with_room(plan, inches("0.5")), 0, 0, right=CutEnd.FIELD)
    assert check(plain, with_part(one_end, bound=0)) == ()


def test_names_no_stick_twice_across_materials() -> None:
    """Sticks are numbered within the plan, not within a material."""
    job, plan = plans.two_materials()
    assert check(job, plan) == ()
    first, second = plan.materials
    assert codes(job, replace(plan, materials=(first, _restarted(second)))) == {"stick_name"}


def test_a_plan_for_a_material_is_neither_missing_nor_doubled() -> None:
    """Each material with something required has one plan."""
    plan = plans.shed()
    assert "material" in codes(scenario.shed(), replace(plan, materials=()))
    assert "material" in codes(scenario.shed(), replace(plan, materials=plan.materials * 2))
    assert "material" in codes(scenario.shed(), with_part(plan, material="panel-clay"))


def test_a_pointer_to_no_item_is_a_fault_and_no_crash() -> None:
    """Somebody's plan may point anywhere."""
    patterns = plans.shed().materials[0].patterns
    lost = replace(patterns[1].sticks[0], pieces=tuple(replace(p, item=99) for p in patterns[1].sticks[0].pieces))
    assert "piece" in codes(scenario.shed(), with_pattern(plans.shed(), 1, sticks=(lost, patterns[1].sticks[1])))


def test_spares_belong_to_the_length_used_most() -> None:
    """One spare of five percent goes to the long panels, of which most are used."""
    job, right, wrong = plans.two_lengths_with_a_spare()
    assert check(job, right) == ()
    assert codes(job, wrong) == {"order"}


def test_full_cartons_are_listed_as_cartons() -> None:
    """Sold singly or in cartons of four, six panels are one carton and two loose, at the carton's own price."""
    job, plan = plans.carton_and_loose()
    assert check(job, plan) == ()
    loose = replace(plan.order[0], cartons=0, loose=6)
    assert codes(job, replace(plan, order=(loose,))) == {"cost", "order"}


def _restarted(part: MaterialPlan) -> MaterialPlan:
    def renamed(use: PatternUse) -> PatternUse:
        return replace(use, sticks=tuple(replace(stick, stick="S1") for stick in use.sticks))

    return replace(part, patterns=tuple(renamed(use) for use in part.patterns))
