"""Plans are asked for while Redis, workers and planning processes are killed at random: no accepted plan is lost.

``python -m tests.benchmarks.storm`` is the long version.
"""

from __future__ import annotations

from pathlib import Path

from tests.support.command import lapstock_serve
from tests.support.storm import Storm, ask, ask_all, ends

BLOWS = 8
HOUSES = 60


def test_every_accepted_plan_comes_to_one_end(tmp_path: Path) -> None:
    """Each acknowledged house is planned right, or given up because its process was killed twice; none is forgotten."""
    with lapstock_serve("--data", str(tmp_path), "--workers", "2") as serving:
        serving.ready()
        storm = Storm(serving, seed=1, blows=BLOWS, pause=0.6)
        storm.begin()
        houses = range(HOUSES)
        ids = ask_all(serving, houses)
        while storm.rages:
            # asked for again, it is the same plan
            assert ask(serving, 0) == ids[0]
        assert storm.struck
        ended = ends(tmp_path, houses, ids, patience=60)
    assert ended["right"] + ended["failed worker_died"] == HOUSES, ended
    assert ended["right"] > HOUSES - BLOWS
