"""Faults in bills and bounds, in the laps they rest on, and in the checking of them."""

from __future__ import annotations

from tests.mutation.fault import fault

PROOFS = (
    fault(
        "days-of-one-order",
        "the checker certifies more than one order for all days costs, as what the days' own orders come to",
        "unit/checking/test_week.py",
        ("solver/checking/week_bound.py", "len(parts) > 1) or has_rules(material)", "len(parts) > 1)"),
    ),
    fault(
        "spares-forgotten",
        "spares that a past delivery brought are ordered again",
        "unit/weekly/test_week.py",
        ("solver/weekly/state.py", "+= line.sticks + line.spares", "+= line.sticks"),
        ("solver/checking/week_supply.py", "+= line.sticks + line.spares", "+= line.sticks"),
    ),
    fault(
        "carton-at-the-same-price",
        "loose panels are bought where a carton costs no more",
        "unit/test_order.py",
        ("solver/buying/bill.py", "tier.carton <= singles * tier.single", "tier.carton < singles * tier.single"),
    ),
    fault(
        "spares-reach-no-break",
        "sticks that are missing to a break of all lengths are counted from those bought, not from those wanted",
        "unit/buying/test_bill.py",
        ("solver/buying/bill.py", "missing = level - sum(wanted)", "missing = max(0, level - sum(wanted) - 1)"),
    ),
    fault(
        "shortest-of-a-cell",
        "on a coarse grid a first piece is rounded to the shortest length of its cell: bounds beyond plans there are",
        "unit/laps/test_coarse.py",
        (
            "solver/laps/bounds/columns.py",
            "yield min(high, model.shortest(n + 1) - 1)",
            "yield max(low, model.shortest(n))",
        ),
    ),
    fault(
        "shortest-of-a-cell-unseen",
        "the checker rounds so too, and believes such a bound",
        "unit/checking/test_run_bounds.py",
        (
            "solver/checking/run_ways.py",
            "np.minimum(end, (cells + 1) * grid - 1 - kerf)",
            "np.maximum(start, cells * grid - kerf)",
        ),
    ),
    fault(
        "any-grid-will-do",
        "the checker takes any grid for one on which a best plan is cut",
        "unit/checking/test_run_bounds.py",
        ("solver/checking/run_rows.py", "all(total % self._grid == 0 for total in self._sums())", "True"),
        (
            "solver/checking/run_rows.py",
            "for made in self._made for way in made) % self._grid == 0",
            "for made in self._made for way in made) >= 0",
        ),
    ),
    fault(
        "numbers-settled-unsearched",
        "numbers of sticks of a small job are passed over though the search did not decide about them",
        "unit/laps/test_extra.py",
        ("solver/laps/solve.py", "if found is not False:", "if isinstance(found, PartialPlan):"),
    ),
    fault(
        "lap-into-an-opening",
        "a lap that begins left of an opening reaches over it",
        "unit/test_allowances.py",
        ("solver/laps/model.py", "(start - max(lap, 0), end", "(start, end"),
    ),
    fault(
        "lap-into-an-opening-unseen",
        "the checker does not see that a lap reaches over an opening from its left",
        "unit/checking/test_runs.py",
        (
            "solver/checking/declared.py",
            "any(start < opening.end and opening.start < end for",
            "any(start < opening.end and opening.start <= start for",
        ),
    ),
    fault(
        "widest-lap-in-the-length",
        "length certifies a bound by the largest lap of any stick, above what sticks with less lap cost",
        "property/test_check_length.py",
        ("solver/checking/bound.py", "lap = min(own_lap", "lap = max(own_lap"),
    ),
    fault(
        "no-component-program",
        "small jobs whose runs hang together stay open: no numbers of sticks are ruled out by how they join",
        "unit/laps/test_free_ends.py",
        (
            "solver/laps/programs/exact.py",
            "return ComponentProgram(model, numbers, shortest, laps).solve(TO_SHARE, watch)",
            "return True",
        ),
    ),
    fault(
        "week-capacity-nine-tenths",
        "dated values rule out sticks that cost nine tenths of the bound: a bound above the bill is certified",
        "unit/checking/test_week.py",
        (
            "solver/checking/week_bound.py",
            "capacity = max(0, ceil(cost * unit) - 1)",
            "capacity = max(0, ceil(cost * unit) - 1) * 9 // 10",
        ),
    ),
    fault(
        "nine-sticks-forgotten",
        "a week's plan is proven though nine cheap sticks, more than are asked for, cost less",
        "unit/weekly/test_recutting.py",
        ("solver/weekly/recutting.py", "(STICKS + 1) * min(least, default=Fraction(0))", "10**9"),
    ),
)
