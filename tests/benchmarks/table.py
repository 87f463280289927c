"""What was measured, as plain tables."""

from __future__ import annotations

from collections.abc import Sequence
from statistics import mean, median

from tests.benchmarks.measure import Outcome
from tests.benchmarks.sets import ROWS


def table(head: Sequence[str], rows: Sequence[Sequence[object]]) -> str:
    """Return a table in plain text, columns as wide as they need."""
    lines = [[str(cell) for cell in row] for row in (head, *rows)]
    widths = [max(len(line[i]) for line in lines) for i in range(len(head))]
    lines.insert(1, ["-" * width for width in widths])
    return "\n".join("| " + " | ".join(c.ljust(w) for c, w in zip(line, widths, strict=True)) + " |" for line in lines)


def sets_table(outcomes: Sequence[Outcome]) -> str:
    """Return one row per set: what was proven and how fast, the target, and the published record."""
    head = (
        "set",
        "proven",
        "optimal",
        "mean s",
        "p99 s",
        "worst s",
        "mean CPU s",
        "worst CPU s",
        "worst gap",
        "target",
        "record",
    )
    rows = []
    for row in ROWS:
        own = [o for o in outcomes if o.group == row.group]
        if own:
            times = sorted(o.seconds for o in own)
            rows.append(
                (
                    row.group,
                    f"{sum(o.proven for o in own)}/{len(own)}",
                    f"{sum(o.optimal for o in own)}/{len(own)}",
                    f"{mean(times):.3f}",
                    f"{quantile(times, 0.99):.3f}",
                    f"{times[-1]:.3f}",
                    f"{mean(o.cpu for o in own):.3f}",
                    f"{max(o.cpu for o in own):.3f}",
                    f"{100 * max(o.gap for o in own):.3f} %",
                    row.target,
                    row.record,
                )
            )
    return table(head, rows)


def open_table(outcomes: Sequence[Outcome]) -> str:
    """Return the instances that stayed open, and any answer that contradicts a published optimum."""
    rows = [
        (
            o.group,
            o.name,
            o.cost,
            o.bound,
            o.optimum,
            f"{100 * o.gap:.3f} %",
            f"{o.seconds:.2f}",
            "WRONG" * o.contradicts,
        )
        for o in outcomes
        if not o.proven or o.contradicts
    ]
    return table(("set", "instance", "cost", "bound", "published", "gap", "s", ""), rows)


def tidy_table(outcomes: Sequence[Outcome]) -> str:
    """Return what tidying did to the plans of each set: totals before and after, and how long it took."""
    head = (
        "set",
        "plans",
        "patterns",
        "after",
        "fewest proven",
        "scrap after",
        "kept",
        "after",
        "median s",
        "p99 s",
        "worst s",
        "median CPU s",
        "p99 CPU s",
    )
    rows = []
    for group in dict.fromkeys(o.group for o in outcomes):
        own = [o for o in outcomes if o.group == group]
        times, cpu = sorted(o.tidy_seconds for o in own), sorted(o.tidy_cpu for o in own)
        scrap = sum(o.before.scrap for o in own)
        rows.append(
            (
                group,
                len(own),
                sum(o.before.patterns for o in own),
                sum(o.after.patterns for o in own),
                sum("patterns" in o.least for o in own),
                f"{100 * sum(o.after.scrap for o in own) / scrap:.1f} %" if scrap else "-",
                sum(o.before.kept for o in own),
                sum(o.after.kept for o in own),
                f"{median(times):.3f}",
                f"{quantile(times, 0.99):.3f}",
                f"{times[-1]:.3f}",
                f"{median(cpu):.3f}",
                f"{quantile(cpu, 0.99):.3f}",
            )
        )
    return table(head, rows)


def quantile(ordered: Sequence[float], share: float) -> float:
    """Return the value that ``share`` of the ``ordered`` ones do not exceed."""
    return ordered[min(len(ordered) - 1, int(share * len(ordered)))]
