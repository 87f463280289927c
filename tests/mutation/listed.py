"""The faults: what is spoilt, what nobody would have noticed, and where it must be noticed now."""

from __future__ import annotations

from tests.mutation.fault import fault
from tests.mutation.proofs import PROOFS

DEFAULTS = "outside/test_default_sources.py"

FAULTS = (
    fault(
        "kept-is-no-waste",
        "offcuts that are kept no longer count as waste: 100 in out of 150 wastes nothing",
        "unit/test_waste.py",
        (
            "service/views/waste.py",
            "used += part.used_length",
            "used += part.used_length + part.kept_length",
        ),
    ),
    fault(
        "one-kerf-too-many",
        "the checker refuses a right plan whose pieces fill their stick",
        "unit/test_assignment.py",
        ("solver/checking/bench.py", "kerf * (len(use.cuts) - 1)", "kerf * len(use.cuts)"),
    ),
    fault(
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
    fault(
        "widest-lap-told",
        "the length under laps goes by the widest lap of any row, whatever the run was cut by",
        "unit/test_waste.py",
        ("service/views/waste.py", "max(0, run.lap)", "lap"),
    ),
    fault(
        "lapless-panel-lapped",
        "a run is laid with panels that may not be lapped",
        "unit/test_allowances.py",
        ("solver/laps/templates.py", " and stick.lapped]", "]"),
    ),
    fault(
        "offcut-on-its-own-day",
        "the checker lets a day bring what is cut on that day",
        "unit/checking/test_week.py",
        ("solver/checking/week_supply.py", "return day > there.earliest or", "return day >= there.earliest or"),
    ),
    fault(
        "one-stick-over-stock",
        "the checker lets a week order one stick more than there is",
        "unit/checking/test_week.py",
        (
            "solver/checking/week_supply.py",
            "if there.sticks > there.most:",
            "if there.sticks > there.most + 1:",
        ),
    ),
    fault(
        "night-at-midnight",
        "the night is planned at 00:00, before the evening's reports",
        "unit/weekly/test_moment.py",
        ("solver/weekly/moment.py", "NIGHT = time(2)", "NIGHT = time(0)"),
    ),
    fault(
        "left-over-without-its-end",
        "a left-over loses the one factory end its stick has",
        "unit/test_assignment.py",
        (
            "solver/assignment.py",
            "if free_right and (source.stick.right or not (free_left and source.stick.left)):",
            "if free_right:",
        ),
    ),
    fault(
        "no-word-of-lead",
        "the caution about lead paint is gone",
        "unit/test_cautions.py",
        ("solver/materials.py", "COLD, LADDERS, LEAD, HEAT", "COLD, LADDERS, HEAT"),
    ),
    fault(
        "channel-lap",
        "channel laps 1 in instead of 3/4",
        DEFAULTS,
        ("solver/categories.py", "lap=3 * _IN // 4,", "lap=_IN,"),
    ),
    fault(
        "soffit-gap",
        "soffit is cut 1/2 in short of each channel instead of 1/4",
        DEFAULTS,
        ("solver/categories.py", "lap=None,\n    end_gap=_IN // 4,", "lap=None,\n    end_gap=_IN // 2,"),
    ),
    fault(
        "channel-kept-and-shortest",
        "channel is kept from 12 in, and its shortest piece is 6 in",
        DEFAULTS,
        (
            "solver/categories.py",
            "replace(_TRIM, keep_offcuts_from=24 * _IN)",
            "replace(_TRIM, shortest_piece=6 * _IN, keep_offcuts_from=12 * _IN)",
        ),
    ),
    fault(
        "locks-eight-apart",
        "snap locks are punched every 8 in",
        DEFAULTS,
        (
            "solver/takeoff/rules.py",
            '"snap locks punched along a cut edge",\n    6 * _IN',
            '"snap locks punched along a cut edge",\n    8 * _IN',
        ),
    ),
    fault(
        "large-from-twenty",
        "an entrance door counts as a large opening",
        DEFAULTS,
        ("solver/takeoff/rules.py", 'counts as large", 40', 'counts as large", 20'),
    ),
    fault(
        "post-nails-eight-apart",
        "half as many nails again along posts and trim",
        DEFAULTS,
        ("solver/takeoff/rules.py", '"nails along posts and trim", 12', '"nails along posts and trim", 8'),
    ),
    fault(
        "two-people-from-ten-feet",
        "a panel of 9 ft is put up by one",
        DEFAULTS,
        ("solver/takeoff/rules.py", 'takes two people", 96', 'takes two people", 120'),
    ),
    fault(
        "divided-with-one-gap",
        "a third row of soffit where two reach",
        "unit/takeoff/test_trim.py",
        ("solver/takeoff/soffits.py", "longest + 2 * gap + divider))", "longest + gap + divider))"),
    ),
    fault(
        "vented-rounded-down",
        "one vented panel short",
        "unit/takeoff/test_trim.py",
        ("solver/takeoff/soffits.py", "number = ceil(quantity * share)", "number = int(quantity * share)"),
    ),
    fault(
        "furring-at-an-inch",
        "furring is asked for at a notch of 1 in",
        "unit/takeoff/test_courses.py",
        ("solver/takeoff/courses.py", "depth > rules.FURRING_FROM.value", "depth >= rules.FURRING_FROM.value"),
    ),
    fault(
        "fourteen-inches-after-feet",
        "9' 14\" is read as 10'-2\"",
        "unit/test_lengths.py",
        ("solver/lengths.py", "if rest >= 12 or whole.denominator != 1:", "if whole.denominator != 1:"),
    ),
    fault(
        "two-units-apart",
        "a length in two units that differ by 3/64 in is taken for one",
        "unit/test_lengths.py",
        ("solver/lengths.py", "AGREE = 2 * TICKS_PER_64TH", "AGREE = 4 * TICKS_PER_64TH"),
    ),
    fault(
        "one-request-less",
        "a client gets one request a minute less than is said",
        "integration/test_access.py",
        ("service/http/rates.py", "{_allowed()} per", "{_allowed() - 1} per"),
    ),
    fault(
        "level-top-between-slopes-notched",
        "a course whose level top ends at two slopes is notched by a step and not ripped",
        "unit/takeoff/test_courses.py",
        (
            "solver/takeoff/courses.py",
            "reach = min(slab.left.high for slab in tops)",
            "reach = min(slab.left.low for slab in tops)",
        ),
    ),
    fault(
        "upright-panels-from-the-foot",
        "upright panels are measured from their foot, so that every notch and slope stands on its head",
        "unit/takeoff/test_other_panels.py",
        ("solver/takeoff/columns.py", "Point(high - point.y, point.x)", "Point(point.y, point.x)"),
    ),
    fault(
        "long-panels-of-a-metric-job-in-inches",
        "panels of 16 ft and more keep gaps of 12.7 mm and laps of 31.75 mm in a metric job",
        "integration/test_metric_takeoffs.py",
        (
            "solver/takeoff/cold.py",
            "stock = tuple(_whole_row(row, printed, unit) for row in material.stock)",
            "stock = material.stock",
        ),
    ),
    fault(
        "a-third-wall-at-a-corner",
        "three walls that cross at one corner are taken off, and one post is missing or one too many",
        "unit/takeoff/test_refusals.py",
        ("solver/takeoff/refusals.py", "if other.index != end.index}.values())) > 1:", "if False}.values())) > 1:"),
    ),
    fault(
        "held-by-others-and-free",
        "what one plan holds on the rack is offered to the next, so that both cut one offcut",
        "integration/test_rack.py",
        ("workers/rack/scripts.py", "then count = count - hold.count end", "then count = count - hold.used end"),
    ),
    fault(
        "taken-and-not-planned-again",
        "a plan whose offcut was taken while it was made is written all the same",
        "integration/test_rack.py",
        ("workers/plans/scripts.py", "if #short > 0 then return short end", "if false then return short end"),
    ),
    fault(
        "what-is-left-without-its-kerf",
        "what is left of a stick begun is shorter by the cuts that it is still to get, and pieces are bought anew",
        "unit/continuing/test_rest.py",
        ("solver/continuing/at_hand.py", "+ kerf * (len(stretch) - 1)", "+ 0 * (len(stretch) - 1)"),
    ),
    *PROOFS,
)
