"""Every row of the benchmark's table: where its instances come from, what is aimed at, and what is on record.

Records are proven optima / instances and mean seconds within one minute on one core of a 3.1 GHz Xeon
with commercial solvers (Delorme, Iori, Martello, EJOR 255, 2016, tables 1-3; the best method of each row)
unless another source is named. They are of the whole class, the instances here may be part of it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

from tests.benchmarks import siding
from tests.benchmarks.instances import Instance, published


@dataclass(frozen=True, slots=True)
class Row:
    """One set: its target and the published record, in words; ``generate`` is None for sets read from the folder."""

    group: str
    target: str
    record: str
    generate: Callable[[], Iterator[Instance]] | None = None

    def instances(self, folder: Path) -> list[Instance]:
        """Return its instances; an empty list where the folder holds none."""
        return list(self.generate() if self.generate else published(folder, self.group))


_ALL_PROVEN = "all proven, mean < 0.5 s, worst < 10 s"
_SEVERAL = ">= 90 % proven in 60 s"
_NO_TABLE = "no table found"

ROWS = (
    Row("falkenauer_u", _ALL_PROVEN, "74/74, 0.0 s"),
    Row("falkenauer_t", _ALL_PROVEN, "80/80, 0.4 s"),
    Row("scholl1", _ALL_PROVEN, "323/323, 0.0 s"),
    Row("scholl2", _ALL_PROVEN, "244/244, 0.3 s"),
    Row("scholl3", "all proven, worst < 20 s", "10/10, 6.3 s"),
    Row("schwerin1", _ALL_PROVEN, "100/100, 0.3 s"),
    Row("schwerin2", _ALL_PROVEN, "100/100, 0.3 s"),
    Row("waescher", _ALL_PROVEN, "17/17, 0.1 s"),
    Row("random_delorme", _ALL_PROVEN, "1,429/1,429 of a subset (table 10)"),
    Row("hard28", "all optimal and proven in 60 s", "28/28, 7.3 s"),
    Row("nirup53", "all optimal, >= 80 % proven in 60 s", "53/53 (Belov's solver log, times not given)"),
    Row(
        "ai",
        "402 items >= 95 % proven in 60 s, 600 half",
        "AI202 50/50, 54 s; AI403 45/50, 699 s (1 h limit, tables 12-13)",
    ),
    Row(
        "ani",
        "402 items >= 95 % proven in 60 s, 600 half",
        "ANI201 50/50, 13.6 s; ANI402 50/50, 300 s (Baldacci et al. 2024, 1 h)",
    ),
    Row("gi", "all proven, mean < 30 s", _NO_TABLE),
    Row("multi_belov", ">= 95 % proven, gap <= 0.02 %", _NO_TABLE),
    Row("multi_crainic", _SEVERAL, _NO_TABLE),
    Row("multi_hemmelmayr", _SEVERAL, _NO_TABLE),
    Row("multi_haouari_serairi", _SEVERAL, _NO_TABLE),
    Row("siding", "all proven, p99 < 0.5 s", "our own", lambda: siding.siding(200)),
    Row("several", ">= 98 % proven, p99 < 2 s", "our own", lambda: siding.several(100)),
    Row("big", "within 0.1 % of the bound in 60 s, under 1 GiB", "our own", lambda: siding.big(1)),
)
