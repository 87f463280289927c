"""How plans fare under many faults: asked for while processes are killed and frozen, each worked out again at the end.

``python -m tests.benchmarks.storm`` asks for 10,000 plans under 300 faults, which takes a quiet machine of two cores
about an hour; fewer as one likes. It ends with 1 if any is lost, doubled, wrong, or has no plan.
"""

from __future__ import annotations

import argparse
import sys
import time
from pathlib import Path
from tempfile import TemporaryDirectory

from tests.benchmarks.table import table
from tests.support.command import lapstock_serve
from tests.support.storm import Storm, ask_all, ends


def main(jobs: int, faults: int, workers: int, seed: int, pause: float) -> int:
    """Run the storm, print the table and return the exit code."""
    begun = time.perf_counter()
    with TemporaryDirectory() as folder:
        told = {"LAPSTOCK_MOST_WAITING": str(10**6)}
        with lapstock_serve("--data", folder, "--workers", str(workers), environment=told) as serving:
            serving.ready()
            storm = Storm(serving, seed, faults, pause)
            storm.begin()
            ids = ask_all(serving, range(jobs))
            accepted = time.perf_counter() - begun
            while storm.rages:
                time.sleep(0.2)
            if serving.process.poll() is not None:
                raise SystemExit(f"nothing serves any more:\n{serving.printed[-5000:]}")
            ended = ends(Path(folder), range(jobs), ids, patience=600)
    rows = [["plans accepted", str(len(ids))], ["seconds until then", f"{accepted:.0f}"],
            ["seconds in all", f"{time.perf_counter() - begun:.0f}"]]  # fmt: skip
    rows += [[f"fault: {kind}", str(count)] for kind, count in sorted(storm.struck.items())]
    rows += [[f"ended {how}", str(count)] for how, count in sorted(ended.items())]
    print(table(["", ""], rows))
    return int(ended["right"] != jobs)


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--jobs", type=int, default=10_000)
    parser.add_argument("--faults", type=int, default=300)
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--pause", type=float, default=3.0, help="seconds between two faults in the mean")
    args = parser.parse_args()
    sys.exit(main(args.jobs, args.faults, args.workers, args.seed, args.pause))
