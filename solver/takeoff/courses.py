"""One course of a wall: its runs from pocket to pocket, what openings cut out of them, and what is ripped."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from fractions import Fraction
from math import ceil, floor

from solver.lengths import Unit, say
from solver.required import CutOut, KeepClear, Keeps, Side
from solver.required import Edge as PanelEdge
from solver.takeoff import rules
from solver.takeoff.answer import Corner, Course, NotedCutOut, Rip, RunEnd, RunOnWall, Term, add_up
from solver.takeoff.ends import Allow, run_end, step_of
from solver.takeoff.geometry import Block, Edge, Exact, Facing, Shape, shapes_in
from solver.takeoff.measured import Opening, OpeningKind
from solver.takeoff.rules import FLAT, Rule
from solver.takeoff.survey import Band, takes_up


def course_in(band: Band, edges: Sequence[Edge], blocks: Sequence[Block], allow: Allow) -> Course:
    """Return one course with its runs; shapes too short for a panel are only counted."""
    near = [block for block in blocks if block.bottom <= band.top and band.bottom <= block.top]
    shapes = shapes_in(edges, near, band.bottom, band.top)
    covered = [_run(shape, band, near, allow) for shape in shapes]
    runs = tuple(run for run in covered if run.cut > 0)
    return Course(band, runs, tuple(keep_clears(band, blocks, allow)), len(covered) - len(runs))


def _run(shape: Shape, band: Band, blocks: Sequence[Block], allow: Allow) -> RunOnWall:
    allow = allow if shape.top == band.top else replace(allow, hem=0)
    left, right = run_end(shape, Side.LEFT, allow), run_end(shape, Side.RIGHT, allow)
    start, end = int(left.measured + left.takes_up + left.extra), int(right.measured - right.takes_up - right.extra)
    text = _arithmetic((start, end), left, right, allow)
    return RunOnWall(
        start,
        end - start,
        left,
        right,
        tuple(cut_outs(shape, band, (start, end), blocks, allow)),
        rips_of(shape, band, blocks, allow),
        any(slab.sloping for slab in shape.slabs),
        shape.area,
        _face(shape),
        text,
    )


def _face(shape: Shape) -> tuple[tuple[Corner, ...], ...]:
    return tuple(
        (
            (slab.left.low, slab.bottom),
            (slab.right.low, slab.bottom),
            (slab.right.high, slab.top),
            (slab.left.high, slab.top),
        )
        for slab in shape.slabs
    )


def _arithmetic(span: tuple[int, int], left: RunEnd, right: RunEnd, allow: Allow) -> str:
    """Return how a run's length comes about; what lies on a slope is told as a tape shows it."""
    unit, step, start, end = allow.unit, step_of(allow.unit), *span
    measured = [_shown(side.measured, step) for side in (left, right)]
    taken = [_shown(side.takes_up, step) if side.extra else side.takes_up for side in (left, right)]
    inward = start - measured[0], measured[1] - end
    terms = [Term(measured[1] - measured[0], f"from {left.what} to {right.what}")]
    for side, pocket, whole in zip(allow.sides, taken, inward, strict=True):
        terms.append(Term(-pocket, f"taken up at the {side}"))
        terms.append(Term(pocket - whole, f"more than the end gap along the slope at the {side}"))
    return add_up("clear length", terms, unit).text


def _shown(place: Exact, step: int) -> int:
    """Return a whole place as it is, another to the nearest step."""
    return place if isinstance(place, int) else round(place / step) * step


def keep_clears(band: Band, blocks: Sequence[Block], allow: Allow) -> Iterator[KeepClear]:
    """Yield where this course may have no lap: under and over openings, as many courses as the settings say.

    A stretch is as wide as the opening's cut-out.
    """
    reach = allow.settings.keep_clear * (band.top - band.bottom)
    for block in blocks:
        under = band.bottom < block.bottom <= band.bottom + reach
        over = band.top - reach <= block.top < band.top
        if isinstance(block.cause, Opening) and (under or over):
            yield KeepClear(*stretch_of(block, allow.settings.cut_out_clearance), band.number, band.number)


def cut_outs(
    shape: Shape, band: Band, span: tuple[int, int], blocks: Sequence[Block], allow: Allow
) -> Iterator[NotedCutOut]:
    """Yield what the blocks take out of one run that reaches over ``span``, from left to right.

    Heights are from the panel's lower lip, which is the band's lower edge.
    """
    whole = (block for block in blocks if not (_over(block, shape) or _under_all(block, shape)))
    inside = (block for block in whole if _reaches_into(block, shape))
    for block in sorted(inside, key=lambda block: (block.left, block.bottom)):
        left, right = stretch_of(block, allow.settings.cut_out_clearance)
        stretch = max(left, span[0]), min(right, span[1])
        if stretch != span and span[0] + allow.gap < stretch[1] and stretch[0] < span[1] - allow.gap:
            yield _cut_out(block, band, stretch, allow)


def _reaches_into(block: Block, shape: Shape) -> bool:
    beside = shape.left < block.right and block.left < shape.right
    return beside and block.bottom <= shape.top and block.top > shape.bottom


def stretch_of(block: Block, clear: int) -> tuple[int, int]:
    """Return from where to where a block is cut out: with its pockets, and ``clear`` at each side."""
    if isinstance(block.cause, Opening):
        pockets = block.cause.takes_up
        return block.left - pockets.left - clear, block.right + pockets.right + clear
    return block.left - clear, block.right + clear


def _cut_out(block: Block, band: Band, inside: tuple[int, int], allow: Allow) -> NotedCutOut:
    low, high = block.bottom - band.bottom, block.top - band.bottom
    exposure = band.top - band.bottom
    lean = block.cause.rises if isinstance(block.cause, Opening) else 0
    name = block.cause.id if isinstance(block.cause, Opening) else "the step"
    if block.top >= band.top:
        edge, height, depth, top = PanelEdge.TOP, low, exposure - low, None
        sides = low + max(0, -lean), low + max(0, lean)
    elif block.bottom <= band.bottom:
        edge, height, depth, top = PanelEdge.BOTTOM, high, high, None
        sides = high - max(0, lean), high - max(0, -lean)
    else:
        edge, height, depth, top = PanelEdge.HOLE, low, 0, high
        sides = low, low
    cut = CutOut(*inside, edge, height, band.number, top)
    return NotedCutOut(name, cut, *sides, top, depth, tuple(_notes(block, edge, depth, sides, allow)))


def _notes(block: Block, edge: PanelEdge, depth: int, sides: tuple[int, int], allow: Allow) -> Iterator[str]:
    unit = allow.unit
    fixture = isinstance(block.cause, Opening) and block.cause.kind is OpeningKind.FIXTURE
    if allow.upright and edge is not PanelEdge.HOLE:
        yield "cut lengthwise here: the edge stands in the channel beside it, furring behind it keeps the panel's depth"
        return
    if edge is PanelEdge.TOP and fixture:
        yield "hem and lock are gone here: the cut edge stands behind the block's flange"
    elif edge is PanelEdge.TOP:
        yield (
            "hem and lock are gone here: utility trim, "
            f"snap locks punched every {_told(rules.LOCK_SPACING, unit)}, {_told(rules.LOCK_DOWN, unit)} down"
        )
        if depth > rules.FURRING_FROM.value and not allow.backed:
            yield f"deeper than {_told(rules.FURRING_FROM, unit)}: furring behind it keeps the panel's slope"
    elif edge is PanelEdge.BOTTOM:
        yield "the lower lock is gone here: the cut edge stands in the channel over the head"
    if abs(sides[0] - sides[1]) > rules.SAME_HEIGHT.value:
        yield f"left and right differ by {say(abs(sides[0] - sides[1]), unit)}: measure both again before cutting"


def _told(rule: Rule, unit: Unit) -> str:
    return say(rule.in_job(unit), unit)


def rips_of(shape: Shape, band: Band, blocks: Sequence[Block], allow: Allow) -> tuple[Rip, ...]:
    """Return how the panels of a run are ripped: at the top if they end under something, at the bottom over a floor."""
    found = [_top(shape, band, blocks, allow), _bottom(shape, band, blocks, allow)]
    return tuple(rip for rip in found if rip)


def _top(shape: Shape, band: Band, blocks: Sequence[Block], allow: Allow) -> Rip | None:
    clearance = allow.settings.height_clearance
    if any(_over(block, shape) for block in blocks):
        full = floor(shape.top) - band.bottom + clearance
        return Rip(full - clearance, full - clearance, _under(full, clearance, allow), Keeps.LIP)
    slopes = list(_flat_tops(shape))
    if not slopes:
        return None
    left, right = (_whole(_height_at(slopes, x, band) - clearance, allow) for x in (shape.left, shape.right))
    return Rip(left, right, _tapered(left, right, "along a top that is out of level", allow), Keeps.LIP)


def _whole(height: int, allow: Allow) -> int:
    """Round down to what a tape shows, so that the panel is never too high; something is left of it."""
    step = step_of(allow.unit)
    return max(step, height // step * step)


def _under(full: int, clearance: int, allow: Allow) -> str:
    unit = allow.unit
    held = "wide: its hem" if allow.upright else "high: lock and hem"
    return (
        f"{say(full, unit)} from the lip to the back of the pocket less {say(clearance, unit)} = "
        f"{say(full - clearance, unit)} {held} {'is' if allow.upright else 'are'} cut off, "
        "utility trim and snap locks hold it"
    )


def _height_at(tops: Sequence[Edge], x: Exact, band: Band) -> int:
    return min(band.top, *(floor(edge.y_at(round(x))) for edge in tops)) - band.bottom


def _flat_tops(shape: Shape) -> Iterator[Edge]:
    for bound in (b for slab in shape.slabs for b in (slab.left, slab.right)):
        edge = bound.cause
        if isinstance(edge, Edge) and edge.facing is Facing.TOP and edge.pitch and edge.pitch < Fraction(1, FLAT.value):
            yield edge


def _bottom(shape: Shape, band: Band, blocks: Sequence[Block], allow: Allow) -> Rip | None:
    for block in blocks:
        if band.bottom < block.top and _under_all(block, shape):
            left, right = (_whole(band.top - y, allow) for y in _lower_edge(block, allow))
            why = _NO_LIP if allow.upright else _NO_LOCK
            return Rip(left, right, _tapered(left, right, why, allow), Keeps.HEM)
    return None


def _lower_edge(block: Block, allow: Allow) -> tuple[int, int]:
    """The heights at both ends of what a panel stands on: a floor may slope, a head is level."""
    edge = block.cause
    if not isinstance(edge, Edge):
        return block.top, block.top
    taken = takes_up(edge, allow.settings)
    return ceil(edge.y_at(edge.left)) + taken, ceil(edge.y_at(edge.right)) + taken


_NO_LIP = "from the hem: its lip is cut off, furring and utility trim hold it in the corner"
_NO_LOCK = "above what is below it: its lock is cut off, so furring and utility trim hold it"


def _tapered(left: int, right: int, why: str, allow: Allow) -> str:
    unit, size = allow.unit, "wide" if allow.upright else "high"
    if left == right:
        return f"{say(left, unit)} {size} {why}"
    return f"{say(left, unit)} {size} at the {allow.sides[0]}, {say(right, unit)} at the {allow.sides[1]} {why}"


def _over(block: Block, shape: Shape) -> bool:
    """Whether a block lies over the whole upper edge of a shape, which may be wider farther down."""
    tops = [slab for slab in shape.slabs if slab.top == shape.top]
    reach = min(slab.left.high for slab in tops), max(slab.right.high for slab in tops)
    return block.bottom == shape.top and block.left <= reach[0] and reach[1] <= block.right


def _under_all(block: Block, shape: Shape) -> bool:
    """Whether a block lies under the whole lower edge of a shape, which may be wider farther up."""
    bottoms = [slab for slab in shape.slabs if slab.bottom == shape.bottom]
    reach = min(slab.left.low for slab in bottoms), max(slab.right.low for slab in bottoms)
    return block.top == shape.bottom and block.left <= reach[0] and reach[1] <= block.right
