"""Many plans at once on one rack: how fast they come to an end, and whether any offcut is used twice.

``python -m tests.benchmarks.rack`` posts a thousand plans of one to three pieces, whose rack has offcuts for some of
them, to an installation with real workers, and counts afterwards which plan cuts what.
"""

from __future__ import annotations

import argparse
import time
from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory
from typing import Any

from tests.benchmarks.table import table
from tests.support.stack import Stack, stack

PANEL = {"id": "panel", "category": "siding", "stock": [{"id": "12-6", "length": "12' 6\"", "price": "9.80"}]}


def laid(random: Random, labels: int) -> list[dict[str, Any]]:
    """Return what lies on the rack: so many labels, of one to three pieces each."""
    return [
        {"label": f"B-{n}", "material": "panel", "length": random.randint(40, 120), "count": random.randint(1, 3)}
        for n in range(labels)
    ]


def request(random: Random) -> dict[str, Any]:
    """Return a request that may use the rack."""
    lengths = [random.randint(36, 118) for _ in range(random.randint(1, 3))]
    required = [{"material": "panel", "length": length} for length in lengths]
    return {"units": "in", "materials": [PANEL], "rack": True, "required": required}


def used_by(plan: dict[str, Any]) -> Counter[str]:
    """Return how many of each label a plan cuts from."""
    patterns = [pattern for part in plan["result"]["materials"] for pattern in part["patterns"]]
    return Counter(stick["offcut_id"] for pattern in patterns for stick in pattern["sticks"] if stick["offcut_id"])


def run(running: Stack, plans: int, labels: int, workers: int) -> str:
    """Post them, wait for all, and return the table."""
    random = Random(f"rack {plans} {labels}")
    pieces = laid(random, labels)
    running.client.post("/v1/rack", json={"units": "in", "pieces": pieces})
    requests = [request(random) for _ in range(plans)]
    for _ in range(workers):
        running.start_worker()
    begun = time.perf_counter()
    with ThreadPoolExecutor(8) as crowd:
        ids = list(crowd.map(running.posted, requests))
    records = [running.settled(plan_id) for plan_id in ids]
    seconds = time.perf_counter() - begun
    answers = [running.client.get(f"/v1/cut-plans/{plan_id}").json for plan_id in ids]
    used: Counter[str] = Counter()
    for answer in answers:
        used += used_by(answer)
    there = {piece["label"]: piece["count"] for piece in pieces}
    notices = Counter(notice["code"] for answer in answers for notice in answer["result"]["warnings"])
    left = running.client.get("/v1/rack?limit=2000").json["pieces"]
    held = sum(one["count"] for piece in left for one in piece["held"])
    rows = [
        ["plans", str(plans), ", ".join(f"{n} {state}" for state, n in Counter(r.state for r in records).items())],
        ["offcuts there", str(sum(there.values())), f"{labels} labels"],
        ["used", str(used.total()), f"{held} held"],
        ["used more often than there", str(sum(n > there[label] for label, n in used.items())), ""],
        ["planned again, by offcut", str(notices["offcut_taken"]), f"{notices['rack_left_out']} without the rack"],
        ["seconds", f"{seconds:.1f}", f"{workers} workers"],
    ]
    return table(["", "", ""], rows)


def main() -> None:
    """Run as the arguments say."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--plans", type=int, default=1_000)
    parser.add_argument("--labels", type=int, default=300)
    parser.add_argument("--workers", type=int, default=4)
    given = parser.parse_args()
    with TemporaryDirectory() as folder, stack(Path(folder) / "data", rate=10**6, most_waiting=10**5) as running:
        print(run(running, given.plans, given.labels, given.workers))


if __name__ == "__main__":
    main()
