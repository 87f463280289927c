"""Cut-outs: what an opening or a step takes out of a course from its top edge, from its bottom edge, or as a hole."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from solver.lengths import Unit, say
from solver.required import CutOut
from solver.required import Edge as PanelEdge
from solver.takeoff import rules
from solver.takeoff.answer import NotedCutOut
from solver.takeoff.bands import Block, Shape
from solver.takeoff.ends import Allow
from solver.takeoff.levels import Band
from solver.takeoff.measured import Opening


def cut_outs(
    shape: Shape, band: Band, span: tuple[int, int], blocks: Sequence[Block], allow: Allow
) -> Iterator[NotedCutOut]:
    """Yield what the blocks take out of one run that reaches over ``span``, from left to right.

    Heights are from the panel's lower lip, which is the band's lower edge.
    """
    inside = (block for block in blocks if _reaches_into(block, shape))
    for block in sorted(inside, key=lambda block: (block.left, block.bottom)):
        left, right = stretch_of(block, allow.settings.cut_out_clearance)
        stretch = max(left, span[0]), min(right, span[1])
        if stretch != span:
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
    cut = CutOut(*inside, edge, height, band.number)
    return NotedCutOut(name, cut, *sides, top, depth, tuple(_notes(edge, depth, sides, allow.unit)))


def _notes(edge: PanelEdge, depth: int, sides: tuple[int, int], unit: Unit) -> Iterator[str]:
    if edge is PanelEdge.TOP:
        yield (
            "hem and lock are gone here: utility trim, "
            f"snap locks punched every {say(rules.LOCK_SPACING.value, unit)}, {say(rules.LOCK_DOWN.value, unit)} down"
        )
    if edge is PanelEdge.BOTTOM:
        yield "the lower lock is gone here: the cut edge stands in the channel over the head"
    if edge is not PanelEdge.HOLE and depth > rules.FURRING_FROM.value:
        yield f"deeper than {say(rules.FURRING_FROM.value, unit)}: furring behind it keeps the panel's slope"
    if abs(sides[0] - sides[1]) > rules.SAME_HEIGHT.value:
        yield f"left and right differ by {say(abs(sides[0] - sides[1]), unit)}: measure both again before cutting"
