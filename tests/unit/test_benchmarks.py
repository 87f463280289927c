"""The benchmark runs what it is given, and what it generates is what it says it is."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from solver.cutting import CuttingProblem, Piece, Stick
from solver.ticks import TICKS_PER_INCH
from tests.benchmarks import siding
from tests.benchmarks.__main__ import main
from tests.benchmarks.baselines import METHODS
from tests.benchmarks.instances import Instance, published
from tests.benchmarks.measure import measure
from tests.benchmarks.sets import ROWS

TWO_LINES = [
    {"name": "six", "capacity": 9, "lengths": [4, 3, 2], "demands": [2, 2, 2], "optimum": 2},
    {"name": "five", "stocks": [{"length": 10, "cost": 10, "limit": None}, {"length": 20, "cost": 20, "limit": 4}],
     "lengths": [12, 8], "demands": [2, 3]},
]  # fmt: skip


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A folder with one published set of two instances, one of them of several lengths."""
    (tmp_path / "scholl1.jsonl").write_text("\n".join(map(json.dumps, TWO_LINES)))
    return tmp_path


def test_files_are_read_as_they_are_published(folder: Path) -> None:
    """One stock length costs 1 a stick; several have their costs and limits; an optimum may be missing."""
    six, five = published(folder, "scholl1")
    assert six == Instance("scholl1", "six", CuttingProblem((Stick(9, 1),), (Piece(4, 2), Piece(3, 2), Piece(2, 2))), 2)
    assert (five.problem.sticks, five.optimum) == ((Stick(10, 10), Stick(20, 20, 4)), None)


def test_runner_prints_a_row_and_writes_every_outcome(folder: Path, tmp_path: Path) -> None:
    """Both instances come out proven: 2 sticks, and 12 + 8 twice with 8 alone, 50."""
    out = tmp_path / "out.jsonl"
    result = CliRunner().invoke(main, [str(folder), "--sets", "scholl1", "--json", str(out)])
    assert result.exit_code == 0, result.output
    assert "2/2" in result.output
    assert "323/323" in result.output
    written = [json.loads(line) for line in out.read_text().splitlines()]
    assert [(o["name"], o["cost"], o["proven"]) for o in written] == [("six", 2, True), ("five", 50, True)]


def test_runner_takes_only_instances_of_a_name(folder: Path) -> None:
    """One of the two is called so."""
    result = CliRunner().invoke(main, [str(folder), "--sets", "scholl1", "--names", "fi"])
    assert (result.exit_code, "1/1" in result.output) == (0, True), result.output


def test_runner_runs_nothing_where_the_folder_is_missing(tmp_path: Path) -> None:
    """No such folder is no error: the published sets are simply left out."""
    result = CliRunner().invoke(main, [str(tmp_path / "nowhere"), "--sets", "scholl1,hard28"])
    assert result.exit_code == 0
    assert "None of these sets" in result.output


@pytest.mark.parametrize("name", METHODS)
def test_side_by_side_models_agree_with_the_engine(name: str, folder: Path) -> None:
    """What runs beside the engine solves the same problem: both instances cost the same there."""
    for instance in published(folder, "scholl1"):
        assert METHODS[name](instance.problem, 20.0) == measure(instance, 20.0).cost


def test_siding_lists_are_shaped_as_said() -> None:
    """5 to 60 lengths of 1 to 300 pieces; every tenth mixes inches and millimetres; the same every time."""
    lists = list(siding.siding(20))
    assert lists == list(siding.siding(20))
    assert all(5 <= len(i.problem.pieces) <= 60 for i in lists)
    assert all(1 <= piece.demand <= 300 for i in lists for piece in i.problem.pieces)
    eighths = [all(piece.length % (TICKS_PER_INCH // 8) == 0 for piece in i.problem.pieces) for i in lists]
    assert [n for n, whole in enumerate(eighths) if not whole] == [9, 19]


def test_lists_of_several_lengths_are_shaped_as_said() -> None:
    """Two to four priced lengths, some limited; everything fits an unlimited one."""
    lists = list(siding.several(20))
    priced = [[stick for stick in i.problem.sticks if stick.cost] for i in lists]
    assert all(2 <= len(sticks) <= 4 for sticks in priced)
    assert any(stick.limit is not None for sticks in priced for stick in sticks)
    assert all(sticks[0].limit is None for sticks in priced)


def test_big_lists_are_shaped_as_said() -> None:
    """2,000 lengths, about 200,000 pieces, four stock lengths."""
    (big,) = siding.big(1)
    assert len(big.problem.pieces) == 2000
    assert 180_000 < sum(piece.demand for piece in big.problem.pieces) < 220_000
    assert len(big.problem.sticks) == 4


def test_every_row_has_a_target_and_a_record() -> None:
    """No set is listed twice, and each says what it is held against."""
    assert len({row.group for row in ROWS}) == len(ROWS)
    assert all(row.target and row.record for row in ROWS)
