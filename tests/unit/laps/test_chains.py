"""Chains by hand: runs of 15 out of tens, so that two runs share the middle one of three."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from solver.categories import LapEnds
from solver.cutting.problem import Piece
from solver.laps.bounds.columns import classes_of
from solver.laps.chains.diving import ChainMaster, dived_into
from solver.laps.chains.pricing import ChainPricer, Values
from solver.laps.model import LapModel, model_of
from solver.laps.problem import LapProblem, LapRules, LapRun, LapStick
from solver.laps.state import PartialPlan
from solver.required import Meets
from solver.watch import Watch

TEN = LapStick(length=10, cost=10, limit=None, left=True, right=True, lap=0, end_gap=0)
RULES = LapRules(ends=LapEnds.FACTORY)
ENDLESS = Watch(lambda: 0.0, 1.0)


def model(*lengths: int, pieces: tuple[Piece, ...] = (), sticks: tuple[LapStick, ...] = (TEN,),
          rules: LapRules = RULES) -> LapModel:  # fmt: skip
    """Return one wall of courses of these lengths; a piece of 1 makes cells of 1."""
    runs = tuple(
        LapRun(item=n, length=length, left=Meets.PLAIN, right=Meets.PLAIN, wall="n", course=n + 1)
        for n, length in enumerate(lengths)
    )
    return model_of(LapProblem(sticks=sticks, pieces=(*pieces, Piece(1, 1)), runs=runs, rules=rules))


def dived(found: LapModel, most: int, seed: int = 0) -> PartialPlan | None:
    """Return the plan of one dive."""
    return ChainMaster(found, classes_of(found, [0] * len(found.alike)), ENDLESS).dive(seed, most)


def cut(found: LapModel, most: int, seed: int = 0) -> PartialPlan:
    """Return the plan of one dive in which everything is laid and cut."""
    plan = dived(found, most, seed)
    assert plan is not None
    assert plan.uncut == 0
    return plan


def test_two_runs_share_a_stick() -> None:
    """15 + 15 = 10 + 10 + 10; the piece of 1 takes a fourth."""
    plan = cut(model(15, 15), 40)
    assert plan.cost == 40
    assert sum(stick.left is not None and stick.right is not None for stick in plan.sticks) == 1


def test_a_plain_piece_lies_between_two_runs() -> None:
    """15 + 14 + 1 = 30: the piece of 1 has room in one of the three."""
    plan = cut(model(15, 14), 30)
    assert plan.cost == 30


def test_what_costs_too_much_is_given_up() -> None:
    """Three sticks hold 30, and 31 is wanted."""
    assert dived(model(15, 15), 39) is None


def test_the_best_chain_is_found_run_by_run() -> None:
    """A run is worth 18: one takes 20 of sticks, which is too much, two take 30, which leaves 6."""
    found = model(15, 15)
    classes = classes_of(found, [0, 0])
    pricer = ChainPricer(found, classes)
    everywhere = [np.ones(len(family.lasts), np.bool_) for family in pricer.families]
    values = Values(np.zeros(1), np.array([18.0]), np.array([10.0]))
    chains = pricer.price(values, [1], 1.0, everywhere, 0.0)
    assert {(len(chain.cuts), len(chain.splits)) for chain in chains} == {(3, 2)}
    assert all(
        first.first_cells + first.last_cells <= 10 and split.first_cells + split.last_cells == 15
        for chain in chains
        for first, split in zip(chain.cuts, chain.splits, strict=False)
    )
    assert pricer.price(values, [1], 1.0, [np.zeros_like(places) for places in everywhere], 0.0) == []


@pytest.mark.parametrize("seed", range(4))
def test_laps_are_staggered_as_runs_are_laid(seed: int) -> None:
    """Laps lie from 5 to 10, those of neighbours 2 apart: nothing is left to be mended."""
    assert cut(model(15, 15, 15, 15, rules=replace(RULES, spacing=2)), 80, seed).broken == 0


def test_no_more_sticks_are_cut_than_there_are() -> None:
    """Of tens there are two, and three sticks at the least are cut."""
    twelve = replace(TEN, length=12, cost=13)
    plan = cut(model(15, 15, sticks=(replace(TEN, limit=2), twelve)), 100)
    assert plan.used[0] <= 2


def test_a_piece_with_a_factory_end_begins_or_ends_a_chain() -> None:
    """4 at a left end, 15, and 1: two tens, the run's first piece to the right of the 4, or in a stick of its own."""
    for right in (False, True):
        plan = cut(model(15, pieces=(Piece(4, 1, left=not right, right=right),)), 20)
        assert plan.cost == 20
        assert sum(held.run < 0 for stick in plan.sticks for held in stick.held) == 1


def test_a_dive_leaves_no_trace() -> None:
    """The same seed makes the same plan whatever was dived for before."""
    found = model(15, 15, 14, rules=replace(RULES, spacing=4))
    master = ChainMaster(found, classes_of(found, [0] * 3), ENDLESS)
    plans = [master.dive(seed, 100) for seed in (0, 1, 0)]
    assert plans[0] is not None
    assert plans[2] is not None
    assert plans[0].placed == plans[2].placed
    assert plans[0].cost == plans[2].cost


def test_a_watch_that_stops_is_heard() -> None:
    """There is no plan then, and no column."""
    found = model(15, 15)
    master = ChainMaster(found, classes_of(found, [0, 0]), ENDLESS.within(0.0))
    assert master.dive(0, 100) is None
    assert master.columns() == []


def test_where_ends_do_not_matter_nothing_is_dived_for() -> None:
    """Pieces may lie anywhere in a stick there, and chains say nothing of it."""
    assert dived_into(model(15))
    assert not dived_into(model(15, rules=LapRules(ends=LapEnds.ANY)))
