"""The faults: what is spoilt, what nobody would have noticed, and where it must be noticed now."""

from __future__ import annotations

from typing import NamedTuple


class Edit(NamedTuple):
    """Text of one module that is there once, and what it is spoilt to."""

    path: str
    old: str
    new: str


class Fault(NamedTuple):
    """One fault: the harm it does, its edits, and the tests that must fail."""

    name: str
    harm: str
    edits: tuple[Edit, ...]
    tests: tuple[str, ...]


def _fault(name: str, harm: str, tests: str, *edits: tuple[str, str, str]) -> Fault:
    return Fault(name, harm, tuple(Edit(*edit) for edit in edits), tuple(f"tests/{test}" for test in tests.split()))


DEFAULTS = "outside/test_default_sources.py"

FAULTS = (
    _fault(
        "kept-is-no-waste",
        "offcuts that are kept no longer count as waste: 100 in out of 150 wastes nothing",
        "unit/test_waste.py",
        (
            "service/views/waste.py",
            "used += part.used_length",
            "used += part.used_length + part.kept_length",
        ),
    ),
    _fault(
        "one-kerf-too-many",
        "the checker refuses a right plan whose pieces fill their stick",
        "unit/test_assignment.py",
        ("solver/checking/bench.py", "kerf * (len(use.cuts) - 1)", "kerf * len(use.cuts)"),
    ),
    _fault(
        "smallest-allowance",
        "pieces are cut by the smallest lap and gap among stock rows, and the checker agrees",
        "unit/test_allowances.py",
        (
            "solver/allowances.py",
            "return Allowances(max(laps, default=settings.lap or 0), max(gaps",
            "return Allowances(min(laps, default=settings.lap or 0), min(gaps",
        ),
        (
            "solver/checking/wanted.py",
            "return max(laps, default=None), max(own_gap",
            "return min(laps, default=None), min(own_gap",
        ),
    ),
    _fault(
        "widest-lap-told",
        "the length under laps goes by the widest lap of any row, whatever the run was cut by",
        "unit/test_waste.py",
        ("service/views/waste.py", "max(0, run.lap)", "lap"),
    ),
    _fault(
        "lapless-panel-lapped",
        "a run is laid with panels that may not be lapped",
        "unit/test_allowances.py",
        ("solver/laps/templates.py", " and stick.lapped]", "]"),
    ),
    _fault(
        "offcut-on-its-own-day",
        "the checker lets a day bring what is cut on that day",
        "unit/checking/test_week.py",
        ("solver/checking/week_supply.py", "return day > there.earliest or", "return day >= there.earliest or"),
    ),
    _fault(
        "one-stick-over-stock",
        "the checker lets a week order one stick more than there is",
        "unit/checking/test_week.py",
        (
            "solver/checking/week_supply.py",
            "if there.sticks > there.most:",
            "if there.sticks > there.most + 1:",
        ),
    ),
    _fault(
        "days-of-one-order",
        "the checker certifies more than one order for all days costs, as what the days' own orders come to",
        "unit/checking/test_week.py",
        ("solver/checking/week_bound.py", "len(parts) > 1) or has_rules(material)", "len(parts) > 1)"),
    ),
    _fault(
        "spares-forgotten",
        "spares that a past delivery brought are ordered again",
        "unit/weekly/test_week.py",
        ("solver/weekly/state.py", "+= line.sticks + line.spares", "+= line.sticks"),
        ("solver/checking/week_supply.py", "+= line.sticks + line.spares", "+= line.sticks"),
    ),
    _fault(
        "night-at-midnight",
        "the night is planned at 00:00, before the evening's reports",
        "unit/weekly/test_moment.py",
        ("solver/weekly/moment.py", "NIGHT = time(2)", "NIGHT = time(0)"),
    ),
    _fault(
        "left-over-without-its-end",
        "a left-over loses the one factory end its stick has",
        "unit/test_assignment.py",
        (
            "solver/assignment.py",
            "if free_right and (source.stick.right or not (free_left and source.stick.left)):",
            "if free_right:",
        ),
    ),
    _fault(
        "no-word-of-lead",
        "the caution about lead paint is gone",
        "unit/test_cautions.py",
        ("solver/materials.py", "COLD, LADDERS, LEAD, HEAT", "COLD, LADDERS, HEAT"),
    ),
    _fault(
        "channel-lap",
        "channel laps 1 in instead of 3/4",
        DEFAULTS,
        ("solver/categories.py", "lap=3 * _IN // 4,", "lap=_IN,"),
    ),
    _fault(
        "soffit-gap",
        "soffit is cut 1/2 in short of each channel instead of 1/4",
        DEFAULTS,
        ("solver/categories.py", "lap=None,\n    end_gap=_IN // 4,", "lap=None,\n    end_gap=_IN // 2,"),
    ),
    _fault(
        "channel-kept-and-shortest",
        "channel is kept from 12 in, and its shortest piece is 6 in",
        DEFAULTS,
        (
            "solver/categories.py",
            "replace(_TRIM, keep_offcuts_from=24 * _IN)",
            "replace(_TRIM, shortest_piece=6 * _IN, keep_offcuts_from=12 * _IN)",
        ),
    ),
    _fault(
        "locks-eight-apart",
        "snap locks are punched every 8 in",
        DEFAULTS,
        (
            "solver/takeoff/rules.py",
            '"snap locks punched along a cut edge",\n    6 * _IN',
            '"snap locks punched along a cut edge",\n    8 * _IN',
        ),
    ),
    _fault(
        "large-from-twenty",
        "an entrance door counts as a large opening",
        DEFAULTS,
        ("solver/takeoff/rules.py", 'counts as large", 40', 'counts as large", 20'),
    ),
    _fault(
        "post-nails-eight-apart",
        "half as many nails again along posts and trim",
        DEFAULTS,
        ("solver/takeoff/rules.py", '"nails along posts and trim", 12', '"nails along posts and trim", 8'),
    ),
    _fault(
        "two-people-from-ten-feet",
        "a panel of 9 ft is put up by one",
        DEFAULTS,
        ("solver/takeoff/rules.py", 'takes two people", 96', 'takes two people", 120'),
    ),
    _fault(
        "divided-with-one-gap",
        "a third row of soffit where two reach",
        "unit/takeoff/test_trim.py",
        ("solver/takeoff/soffits.py", "longest + 2 * gap + divider))", "longest + gap + divider))"),
    ),
    _fault(
        "vented-rounded-down",
        "one vented panel short",
        "unit/takeoff/test_trim.py",
        ("solver/takeoff/soffits.py", "number = ceil(quantity * share)", "number = int(quantity * share)"),
    ),
    _fault(
        "furring-at-an-inch",
        "furring is asked for at a notch of 1 in",
        "unit/takeoff/test_courses.py",
        ("solver/takeoff/courses.py", "depth > rules.FURRING_FROM.value", "depth >= rules.FURRING_FROM.value"),
    ),
    _fault(
        "fourteen-inches-after-feet",
        "9' 14\" is read as 10'-2\"",
        "unit/test_lengths.py",
        ("solver/lengths.py", "if rest >= 12 or whole.denominator != 1:", "if whole.denominator != 1:"),
    ),
    _fault(
        "two-units-apart",
        "a length in two units that differ by 3/64 in is taken for one",
        "unit/test_lengths.py",
        ("solver/lengths.py", "AGREE = 2 * TICKS_PER_64TH", "AGREE = 4 * TICKS_PER_64TH"),
    ),
    _fault(
        "one-request-less",
        "a client gets one request a minute less than is said",
        "integration/test_access.py",
        ("service/http/rates.py", "{_allowed()} per", "{_allowed() - 1} per"),
    ),
    _fault(
        "carton-at-the-same-price",
        "loose panels are bought where a carton costs no more",
        "unit/test_order.py",
        ("solver/buying/bill.py", "tier.carton <= singles * tier.single", "tier.carton < singles * tier.single"),
    ),
    _fault(
        "spares-reach-no-break",
        "sticks that are missing to a break of all lengths are counted from those bought, not from those wanted",
        "unit/buying/test_bill.py",
        ("solver/buying/bill.py", "missing = level - sum(wanted)", "missing = max(0, level - sum(wanted) - 1)"),
    ),
    _fault(
        "shortest-of-a-cell",
        "on a coarse grid a first piece is rounded to the shortest length of its cell: bounds beyond plans there are",
        "unit/laps/test_coarse.py",
        (
            "solver/laps/bounds/columns.py",
            "yield min(high, model.shortest(n + 1) - 1)",
            "yield max(low, model.shortest(n))",
        ),
    ),
    _fault(
        "shortest-of-a-cell-unseen",
        "the checker rounds so too, and believes such a bound",
        "unit/checking/test_run_bounds.py",
        (
            "solver/checking/run_ways.py",
            "np.minimum(end, (cells + 1) * grid - 1 - kerf)",
            "np.maximum(start, cells * grid - kerf)",
        ),
    ),
    _fault(
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
    _fault(
        "numbers-settled-unsearched",
        "numbers of sticks of a small job are passed over though the search did not decide about them",
        "unit/laps/test_extra.py",
        ("solver/laps/solve.py", "if found is not False:", "if isinstance(found, PartialPlan):"),
    ),
    _fault(
        "lap-into-an-opening",
        "a lap that begins left of an opening reaches over it",
        "unit/test_allowances.py",
        ("solver/laps/model.py", "(start - max(lap, 0), end", "(start, end"),
    ),
    _fault(
        "lap-into-an-opening-unseen",
        "the checker does not see that a lap reaches over an opening from its left",
        "unit/checking/test_runs.py",
        (
            "solver/checking/declared.py",
            "any(start < opening.end and opening.start < end for",
            "any(start < opening.end and opening.start <= start for",
        ),
    ),
    _fault(
        "widest-lap-in-the-length",
        "length certifies a bound by the largest lap of any stick, above what sticks with less lap cost",
        "property/test_check_length.py",
        ("solver/checking/bound.py", "lap = min(own_lap", "lap = max(own_lap"),
    ),
    _fault(
        "level-top-between-slopes-notched",
        "a course whose level top ends at two slopes is notched by a step and not ripped",
        "unit/takeoff/test_courses.py",
        (
            "solver/takeoff/courses.py",
            "reach = min(slab.left.high for slab in tops)",
            "reach = min(slab.left.low for slab in tops)",
        ),
    ),
    _fault(
        "upright-panels-from-the-foot",
        "upright panels are measured from their foot, so that every notch and slope stands on its head",
        "unit/takeoff/test_other_panels.py",
        ("solver/takeoff/columns.py", "Point(high - point.y, point.x)", "Point(point.y, point.x)"),
    ),
    _fault(
        "long-panels-of-a-metric-job-in-inches",
        "panels of 16 ft and more keep gaps of 12.7 mm and laps of 31.75 mm in a metric job",
        "integration/test_metric_takeoffs.py",
        (
            "solver/takeoff/cold.py",
            "stock = tuple(_whole_row(row, printed, unit) for row in material.stock)",
            "stock = material.stock",
        ),
    ),
    _fault(
        "a-third-wall-at-a-corner",
        "three walls that cross at one corner are taken off, and one post is missing or one too many",
        "unit/takeoff/test_refusals.py",
        ("solver/takeoff/refusals.py", "if other.index != end.index}.values())) > 1:", "if False}.values())) > 1:"),
    ),
    _fault(
        "held-by-others-and-free",
        "what one plan holds on the rack is offered to the next, so that both cut one offcut",
        "integration/test_rack.py",
        ("workers/rack/scripts.py", "then count = count - hold.count end", "then count = count - hold.used end"),
    ),
    _fault(
        "taken-and-not-planned-again",
        "a plan whose offcut was taken while it was made is written all the same",
        "integration/test_rack.py",
        ("workers/plans/scripts.py", "if #short > 0 then return short end", "if false then return short end"),
    ),
    _fault(
        "what-is-left-without-its-kerf",
        "what is left of a stick begun is shorter by the cuts that it is still to get, and pieces are bought anew",
        "unit/continuing/test_rest.py",
        ("solver/continuing/at_hand.py", "+ kerf * (len(stretch) - 1)", "+ 0 * (len(stretch) - 1)"),
    ),
    _fault(
        "no-component-program",
        "small jobs whose runs hang together stay open: no numbers of sticks are ruled out by how they join",
        "unit/laps/test_free_ends.py",
        (
            "solver/laps/programs/exact.py",
            "return ComponentProgram(model, numbers, shortest, laps).solve(TO_SHARE, watch)",
            "return True",
        ),
    ),
    _fault(
        "week-capacity-nine-tenths",
        "dated values rule out sticks that cost nine tenths of the bound: a bound above the bill is certified",
        "unit/checking/test_week.py",
        (
            "solver/checking/week_bound.py",
            "capacity = max(0, ceil(cost * unit) - 1)",
            "capacity = max(0, ceil(cost * unit) - 1) * 9 // 10",
        ),
    ),
    _fault(
        "nine-sticks-forgotten",
        "a week's plan is proven though nine cheap sticks, more than are asked for, cost less",
        "unit/weekly/test_recutting.py",
        ("solver/weekly/recutting.py", "(STICKS + 1) * min(least, default=Fraction(0))", "10**9"),
    ),
)
