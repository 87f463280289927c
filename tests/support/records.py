"""One of every kind of record that is kept, as JSON: ``python -m tests.support.records`` writes today's format.

Done once for each format, before it is first used; a folder is never written anew, for it stands for what lies in
somebody's Redis.
"""

from __future__ import annotations

import json
import time
import zlib
from datetime import UTC, date, datetime
from decimal import Decimal
from pathlib import Path

import solver
from solver.job import Job
from solver.plan import CutPlan
from solver.weekly.plan import WeekPlan
from solver.weekly.week import Week
from tests.support.weeks import planned, week
from tests.unit.wire.test_schemas import EVERYTHING, job_of
from workers.codec import FORMAT, pack
from workers.orders.company import Company
from workers.orders.drafts import Draft
from workers.orders.particulars import Handover
from workers.weeks.record import Run, failed_run

FOLDER = Path(__file__).parents[1] / "data" / "records"
KINDS = {"job": Job, "plan": CutPlan, "week": Week, "week-plan": WeekPlan, "run": Run, "draft": Draft,
         "company": Company}  # fmt: skip
"""What a file of a folder is of."""
_MOMENT = datetime(2026, 11, 23, 2, tzinfo=UTC)


def todays() -> dict[str, object]:
    """Return one of each kind, with as many of its fields set as an example can."""
    job = job_of(EVERYTHING)
    return {
        "job": job,
        "plan": solver.plan_job(job, time.monotonic),
        "week": week(),
        "week-plan": planned(week()),
        "run": failed_run(_MOMENT, date(2026, 11, 23), "It was damaged.", Decimal("29.40")),
        "draft": Draft("draft-of-tern", "/", "Tern", _MOMENT, {"text": "2 x 50"}, planned=True),
        "company": Company("Yard", ("1 Quay",), "555 0100", "yard@example.com", "VAT", Decimal("7.5"), "Thank you.",
                           Handover.DELIVERY, 2, "a4"),
    }  # fmt: skip


def main() -> None:
    """Write the folder of today's format, which must not be there."""
    folder = FOLDER / str(FORMAT)
    folder.mkdir(parents=True)
    for name, value in todays().items():
        text = json.dumps(json.loads(zlib.decompress(pack(value))), indent=1)
        (folder / f"{name}.json").write_text(text + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
