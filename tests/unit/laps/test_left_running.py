"""Whole plans of runs looked for and cancelled: HiGHS goes on beside, and the process it is in still ends as it should.

The companion of ``test_cutting_left_running``, for the other integer program that is given to HiGHS.
"""

from __future__ import annotations

import subprocess
import sys
import time
from pathlib import Path

from solver.categories import LapEnds
from solver.cutting.problem import Piece
from solver.laps.assign import columns_of
from solver.laps.bounds.bound import ColumnGeneration
from solver.laps.bounds.columns import classes_of
from solver.laps.bounds.numbers import StickNumbers
from solver.laps.bounds.pricing import PriceList, by_length
from solver.laps.crowding import Crowds, Stagger
from solver.laps.improve import lay_anew
from solver.laps.model import model_of
from solver.laps.problem import LapProblem, LapRules, LapRun, LapStick
from solver.laps.restricted import Aim, restricted_master
from solver.watch import Watch

CANCELLED = 0.001
"""Seconds until the cancel; nothing else would end the search soon."""

STICKS = tuple(
    LapStick(length=n, cost=cost, limit=None, left=True, right=True, lap=1, end_gap=0)
    for n, cost in ((150, 980), (120, 797))
)
PIECES = tuple(Piece(n, 3) for n in range(23, 97, 5))
RUNS = tuple(LapRun(item=n, length=260 + 9 * (n % 7), wall=str(n // 20), course=n % 20, start=7) for n in range(60))
PROBLEM = LapProblem(
    sticks=STICKS, pieces=PIECES, runs=RUNS, rules=LapRules(ends=LapEnds.FACTORY, shortest=16, spacing=24)
)


def main() -> None:
    """Cancel it as soon as it has begun, and end at once, while HiGHS is at work."""
    model = model_of(PROBLEM)
    prices = PriceList(model, by_length(model))
    plan = lay_anew(model, prices, 0, 0.0)
    classes = classes_of(model, (0,) * (max(model.alike) + 1))
    patient = Watch(time.monotonic, float("inf"))
    bounding = ColumnGeneration(model, classes, StickNumbers(model, plan.cost, patient), columns_of(plan))
    bounding.run(40, plan.cost, 0.0, patient)
    begun = time.monotonic()
    watch = Watch(time.monotonic, begun + 3600, lambda: time.monotonic() > begun + CANCELLED)
    aim = Aim(plan.cost, 0, Stagger.NONE, nodes=1_000_000)
    found = restricted_master(model, classes, bounding.columns, aim, Crowds(model), watch)
    sys.stdout.write(f"{found}\n")
    sys.stdout.flush()


def test_a_process_ends_as_it_should_while_highs_goes_on() -> None:
    """It comes back empty-handed, though nothing but the cancel ends it, and the process ends without an abort."""
    command = [sys.executable, "-m", "tests.unit.laps.test_left_running"]
    done = subprocess.run(
        command, check=False, cwd=Path(__file__).parents[3], capture_output=True, text=True, timeout=60
    )
    assert done.returncode == 0, done.stderr
    assert done.stdout == "None\n"


if __name__ == "__main__":
    main()
