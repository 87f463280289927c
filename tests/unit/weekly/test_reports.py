"""What a crew says it cut and kept can't be more than what it used holds; what may be is never refused.

Monday of ``tests.support.weeks``: three pieces of 100 in, panels of 150 in; the shed wants three of 50 in.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from fractions import Fraction

import pytest

from solver.errors import Problem
from solver.materials import Material, Offcut
from solver.required import Edge, End, Keeps, Meets, Required, Ripped, Side, Slope
from solver.weekly.problems import find_report_problems, find_week_problems
from solver.weekly.week import DatedJob, Done, Kept, Report, Sticks, Week
from tests.scenario import PANEL, inches
from tests.support.weeks import MONDAY, NORTH, SHED, THURSDAY, TUESDAY, planned, week

R17 = Offcut("R-17", "panel-sand", inches("61.5"))
ON_RACK = replace(week(), rack=(R17,))


def cut(a: int = 0, b: int = 0, sticks: int = 0, kept: tuple[int, ...] = (), used: str = "",
        on: date = MONDAY) -> Report:  # fmt: skip
    """Return a report of so many A of 100 in and B of 50 in, panels, offcuts of so many inches, and labels."""
    done = [Done(job, 0, count) for job, count in (("north-wall", a), ("boat-shed", b)) if count]
    offcuts = [Kept(Offcut(f"K{on.day}-{n}", "panel-sand", inches(length))) for n, length in enumerate(kept, start=1)]
    whole = (Sticks("panel-sand", "12-6", sticks),) if sticks else ()
    return Report(on, tuple(done), whole, tuple(used.split()), tuple(offcuts))


def wanting(item: Required, material: Material = PANEL) -> Week:
    """Return a week of one item that is on Monday."""
    return replace(week(), materials=(material,), jobs=(DatedJob("m", MONDAY, (item,)),))


def faults(asked: Week, *reports: Report) -> list[Problem]:
    """Return what the reports themselves show to be impossible."""
    return list(find_report_problems(replace(asked, reports=reports), None))


@pytest.mark.parametrize("report", [
    cut(a=3, sticks=1), cut(a=3), cut(b=1), cut(a=1, used="R-17"), cut(sticks=1, kept=(100, 60)),
    cut(a=3, sticks=3, kept=(60,)), cut(a=3, sticks=2, used="R-17"), cut(a=2, b=2, sticks=2, kept=(20,)),
    cut(a=3, b=3, sticks=3, kept=(10,)), cut(kept=(20,)),
], ids=str)  # fmt: skip
def test_what_can_not_have_come_of_what_was_used(report: Report) -> None:
    """Too few panels, none at all, an offcut shorter than the piece, and 60 in beside each 100 in of 150 in."""
    (fault,) = faults(ON_RACK, report)
    assert (fault.code, fault.pointer) == (
        "more_than_used", f"#/reports/{MONDAY.isoformat()}/{'kept' if report.kept else 'done'}",
    )  # fmt: skip


@pytest.mark.parametrize("report", [
    cut(), cut(sticks=3), cut(a=3, sticks=3), cut(a=2, sticks=3), cut(a=3, sticks=5), cut(a=3, sticks=3, kept=(50, 50)),
    cut(b=1, used="R-17"), cut(b=1, used="R-17", kept=(11,)), cut(a=3, b=3, sticks=3), cut(b=3, sticks=1),
    cut(sticks=1, kept=(150,)), cut(a=3, sticks=3, kept=(50, 25, 25)),
], ids=str)  # fmt: skip
def test_what_may_have_been_is_no_fault(report: Report) -> None:
    """Exactly as planned, a panel spoilt, a panel more broken, and an offcut that was used in part."""
    assert faults(ON_RACK, report) == []


def test_both_lengths_are_told_as_they_are() -> None:
    """3 x 100 and 4 x 50 are 500 in, 41'-8"; three panels hold 450 in, 37'-6"."""
    (fault,) = faults(week(), cut(a=3, sticks=3, kept=(50,) * 4))
    assert "41'-8\" of panel-sand was cut and kept, but sticks and offcuts used are 37'-6\"" in fault.detail


def test_what_a_day_left_may_be_cut_on_another_without_a_label() -> None:
    """Monday kept nothing, so its three 50s are Thursday's, or they were kept and are used by their labels."""
    assert faults(week(), cut(a=3, sticks=3), cut(b=3, on=THURSDAY)) == []
    kept = cut(a=3, sticks=3, kept=(50, 50, 50))
    assert faults(week(), kept, cut(b=2, used="K23-1 K23-2", on=THURSDAY)) == []
    (fault,) = faults(week(), kept, cut(b=2, used="K23-1", on=THURSDAY))
    assert (fault.pointer, THURSDAY.isoformat() in fault.detail) == (f"#/reports/{THURSDAY.isoformat()}/done", True)


def test_a_day_is_not_blamed_for_the_day_before() -> None:
    """What was impossible on Monday is told of Monday alone."""
    (fault,) = faults(week(), cut(a=3), cut(a=0, b=1, sticks=1, on=TUESDAY))
    assert fault.pointer.startswith(f"#/reports/{MONDAY.isoformat()}")


def test_what_is_cut_a_little_short_is_cut() -> None:
    """A piece of 150 1/2 in out of 150 in ends in its pockets; 151 in and a lap are more than they hide."""
    assert faults(wanting(Required("A", "panel-sand", inches("150.5"))), _one(sticks=1)) == []
    assert len(faults(wanting(Required("A", "panel-sand", inches(151), left_end=End(Meets.LAP))), _one(sticks=1))) == 1


def _one(sticks: int = 0, pieces: int = 1) -> Report:
    return Report(MONDAY, (Done("m", 0, pieces),), (Sticks("panel-sand", "12-6", sticks),) if sticks else ())


@pytest.mark.parametrize(("length", "sticks", "right"), [
    (297, 2, True), (300, 2, False), (300, 3, True), (446, 3, True), (450, 3, False),
])  # fmt: skip
def test_a_run_takes_its_laps_too(length: int, sticks: int, right: bool) -> None:
    """Two panels of 150 in lapped by 2 in are 298 in together, three 446; an inch may be cut short."""
    lapped = replace(PANEL, settings=replace(PANEL.settings, lap=inches(2)))
    assert (faults(wanting(Required("A", "panel-sand", inches(length)), lapped), _one(sticks)) == []) is right


def test_butted_with_a_gap_pieces_take_less_than_their_run() -> None:
    """Eight of 36 3/4 in and seven gaps of 1/4 between them are 295 3/4 in."""
    butted = replace(PANEL, settings=replace(PANEL.settings, lap=-inches("0.25")))
    rack = tuple(replace(R17, id=f"R-{n}", length=inches("36.75")) for n in range(8))
    asked = replace(wanting(Required("A", "panel-sand", inches(296)), butted), rack=rack)
    assert faults(asked, Report(MONDAY, (Done("m", 0, 1),), (), tuple(one.id for one in rack))) == []


@pytest.mark.parametrize("item", [
    Required("A", "panel-sand", inches(140), 2, rips=(Ripped(inches(3), inches(3), Keeps.LIP),)),
    Required("A", "panel-sand", inches(140), 2, left_end=End(slope=Slope(Fraction(1), Side.LEFT, Edge.TOP))),
], ids=["ripped", "aslant"])  # fmt: skip
def test_two_may_lie_in_one_length_beside_each_other(item: Required) -> None:
    """Of a panel ripped or cut aslant the other half may be another piece; none comes of nothing."""
    assert faults(wanting(item), _one(sticks=1, pieces=2)) == []
    assert len(faults(wanting(item), _one(pieces=2))) == 1


@pytest.mark.parametrize("jobs", [(NORTH, SHED), (NORTH,), (SHED,)])
def test_a_day_as_on_its_sheet_is_no_fault(jobs: tuple[DatedJob, ...]) -> None:
    """Every sheet of a week that was planned."""
    asked = replace(ON_RACK, jobs=jobs)
    assert faults(asked, *(day.as_planned() for day in planned(asked).days)) == []


def test_what_nobody_knows_of_is_not_reckoned_with() -> None:
    """A label or a stock length that there is not is told elsewhere, and not again as too little."""
    assert faults(week(), cut(b=1, used="R-99")) == []
    assert faults(week(), replace(cut(a=1), sticks=(Sticks("panel-sand", "16-0", 1),))) == []


@pytest.mark.parametrize(("code", "report", "place"), [
    ("used_too_many", cut(sticks=1), "sticks/0/count"),
    ("offcut_too_long", cut(sticks=1, kept=(9, 151)), "kept/1/length"),
    ("stock_twice", replace(cut(), sticks=cut(sticks=1).sticks * 2), "sticks/1/stock"),
])  # fmt: skip
def test_the_entry_is_named(code: str, report: Report, place: str) -> None:
    """By its place in the report."""
    asked = replace(week(), reports=(report,))
    found = (*find_report_problems(asked, ()), *find_week_problems(asked))
    assert (code, f"#/reports/{MONDAY.isoformat()}/{place}") in {(one.code, one.pointer) for one in found}
