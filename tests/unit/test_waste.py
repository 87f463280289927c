"""Waste and length under laps, by hand: what is bought and not in pieces, kept or not."""

from __future__ import annotations

import time
from dataclasses import replace
from decimal import Decimal

from service.views.waste import lap_length, waste_percent
from solver import plan_job
from solver.categories import DEFAULTS, Category, LapEnds
from solver.job import Job
from solver.lengths import Unit
from solver.materials import FactoryEnd, Material, Offcut, StockLength
from solver.plan import CutPlan
from solver.required import End, Meets, Required
from tests.scenario import inches

PANEL = Material(
    "panel", Category.SIDING, (StockLength("12-6", inches(150), price=Decimal("9.80")),), DEFAULTS[Category.SIDING]
)


def planned(job: Job) -> CutPlan:
    """Plan a job on the wall clock."""
    return plan_job(job, time.monotonic)


def one_piece(length: str) -> Job:
    """One piece out of one panel of 150 in."""
    return Job("the lean-to", Unit("in"), (PANEL,), (Required("A", "panel", inches(length)),))


def test_an_offcut_that_is_kept_is_waste_all_the_same() -> None:
    """100 in out of 150: 50 are kept, nothing is scrap, and a third of what is paid for is in no piece, 33.33 %.

    Were kept length no waste, a shop would look best that fills its rack with left-overs.
    """
    plan = planned(one_piece("100"))
    (part,) = plan.materials
    assert (part.kept_length, part.scrap_length) == (inches(50), 0)
    assert waste_percent(plan.materials) == 33.33


def test_an_offcut_on_hand_counts_as_consumed() -> None:
    """50 in out of a left-over of 60: 10 of 60 in are in no piece, 16.67 %, though nothing is bought."""
    job = replace(one_piece("50"), offcuts=(Offcut("R-3", "panel", inches(60), 1, FactoryEnd.NONE),))
    assert waste_percent(planned(job).materials) == 16.67


def test_nothing_consumed_is_no_waste() -> None:
    """Where nothing could be cut there is nothing to divide by."""
    assert waste_percent(()) == 0.0


def test_length_under_laps_goes_by_the_laps_that_were_decided() -> None:
    """A run of 286 in out of two cheap panels that ask for 1 in of lap: 287 in are cut, and 1 in lies under a lap.

    The dear panels ask for 2 1/2 in, and would only if a run used one. A lapped piece of 60 in is another matter:
    which panel it comes from was open when its length was set, so 2 1/2 in of it are lap, 3 1/2 in all.
    """
    cheap = StockLength("12-6", inches(150), price=Decimal("9.80"), lap=inches(1))
    dear = StockLength("12-8", inches(152), price=Decimal(100), lap=inches("2.5"))
    settings = replace(DEFAULTS[Category.SIDING], lap_ends=LapEnds.ANY)
    panel = replace(PANEL, stock=(cheap, dear), settings=settings)
    run = Required("N", "panel", inches(286))
    job = Job("the lean-to", Unit("in"), (panel,), (run,))
    (part,) = planned(job).materials
    assert (part.used_length, lap_length(job, part)) == (inches(287), inches(1))
    lapped = Required("A", "panel", inches(60), left_end=End(Meets.LAP))
    both = replace(job, required=(run, lapped))
    (part,) = planned(both).materials
    assert (part.used_length, lap_length(both, part)) == (inches("349.5"), inches("3.5"))


def test_a_gap_hides_nothing() -> None:
    """Starter strip is butted with 1/4 in between: no length lies under a lap, however often it is joined."""
    strip = Material("starter", Category.STARTER, (StockLength("10", inches(120)),), DEFAULTS[Category.STARTER])
    job = Job("the lean-to", Unit("in"), (strip,), (Required("S", "starter", inches(290)),))
    (part,) = planned(job).materials
    assert (part.used_length, lap_length(job, part)) == (inches("289.5"), 0)
