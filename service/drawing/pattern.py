"""One pattern as a drawing: a stick face on, how many are cut so, its marks, and its dimensions.

A mark stands in a ring on its piece, or over the panel where it has no room there. The cut drawing is every pattern of
a plan, material by material.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import groupby

from service.drawing.drafting import Stretch, chain
from service.drawing.lettering import Tags, clean, fitted, names_in, width_of
from service.drawing.panel import HEM, Face, Part, Span, draw_panel, face_of, spans_of
from service.drawing.shapes import OUTLINE, THIN, Anchor, Drawing, Ring, Shape, Strokes, Text, box, moved, stacked
from solver.job import Job
from solver.lengths import say
from solver.materials import Material
from solver.plan import CutPlan, MaterialPlan, PatternUse
from solver.sticks import runs_of

WIDTH = 186.0
"""What fits between the margins of US Letter and of A4."""
FACE = 28.0
"""Where the stick begins: left of it stands how many."""
BOXES = 4
"""So many sticks alike have their boxes to tick in the drawing."""
_LISTED = 8
"""Sticks listed under a drawing that stands alone."""
_ROW = 3.4
SIZE = 2.8
ABOVE = 5.4
"""Height of a row of marks set over the panel."""
_RING = 4.6
_WIDEST = 60.0


@dataclass(frozen=True, slots=True)
class PatternDrawer:
    """Draws patterns of one material to one scale, in ticks per millimetre; ``listed`` adds which stick gives what."""

    job: Job
    material: Material
    tags: Tags
    scale: float
    listed: bool

    def draw(self, use: PatternUse) -> Drawing:
        """Return one pattern as a drawing."""
        kerf, face = self.material.settings.kerf, face_of(self.material, FACE, 0, self.scale)
        marks, rows = draw_marks(face, use, kerf, self.tags)
        first = chain(self._parts(face, use), face.bottom + 4.8, face.bottom + 0.6)
        whole = chain([self._whole(face, use)], first.bottom + 3.0, face.bottom + 0.6)
        shapes = [*draw_panel(face, use, kerf, self.job.units), *marks, *first.shapes, *whole.shapes]
        shapes += self._caption(use, face)
        lines = list(self._list(use))
        shapes += [Text(FACE, whole.bottom + 3 + _ROW * n, text, 2.4, Anchor.START) for n, text in enumerate(lines)]
        above = 3.6 + rows * ABOVE
        height = above + whole.bottom + _ROW * len(lines)
        return Drawing(self._title(use), self._described(use), WIDTH, height, moved(shapes, 0, above))

    def _parts(self, face: Face, use: PatternUse) -> list[Stretch]:
        """Return the chain of pieces; neighbours of one length are dimensioned together, ``3 @ 4'-2"``."""

        def alike(span: Span) -> object:
            return (span.part, span.length) if span.part is Part.PIECE else span

        groups = [list(group) for _, group in groupby(spans_of(use, self.material.settings.kerf), key=alike)]
        return [self._stretch(face, group) for group in groups]

    def _stretch(self, face: Face, spans: Sequence[Span]) -> Stretch:
        text = say(spans[0].length, self.job.units)
        if len(spans) > 1:
            text = f"{len(spans)} @ {text}"
        text += {Part.PIECE: "", Part.ROOM: " room", Part.LEFT_OVER: " offcut"}[spans[0].part]
        inner = tuple(face.x(span.end) for span in spans[:-1])
        return Stretch(face.x(spans[0].start), face.x(spans[-1].end), text, inner)

    def _whole(self, face: Face, use: PatternUse) -> Stretch:
        whose = "" if use.stock else " on hand"
        text = f"{say(use.stock_length, self.job.units)} {self.material.category.kind.noun()}{whose}"
        return Stretch(face.x(0), face.x(use.stock_length), text)

    def _caption(self, use: PatternUse, face: Face) -> Iterator[Shape]:
        y = face.top + 4.5
        yield Text(0, y, f"{use.count} ×", 5, Anchor.START, bold=True)
        if use.count <= BOXES and self.tags.alike(use):
            yield from (box(10 + 4 * n, y - 3, 3, 3, OUTLINE) for n in range(use.count))
        label = f"{self.material.category.kind.noun(use.count)} {names_in(tuple(runs_of(use.sticks)))}"
        yield Text(0, y + 4, fitted(label, 2.3, FACE - 1), 2.3, Anchor.START)
        if use.stock is None:
            known = dict.fromkeys(clean(run.offcut_id or "") for run in runs_of(use.sticks))
            yield Text(0, y + 7.2, fitted(f"from {', '.join(known)}", 2.3, FACE - 1), 2.3, Anchor.START)

    def _list(self, use: PatternUse) -> Iterator[str]:
        """Yield which stick gives what, where the sticks of a pattern differ and there is no sheet beside."""
        if not self.listed or self.tags.alike(use):
            return
        for stick in use.sticks[:_LISTED]:
            yield f"{stick.stick}: {self.tags.given(stick)}"
        if use.count > _LISTED:
            yield f"and {use.count - _LISTED} more: see the cut sheet"

    def _title(self, use: PatternUse) -> str:
        what = self.material.category.kind.noun(use.count)
        return f"{use.count} {what} of {clean(self.material.id)}, {say(use.stock_length, self.job.units)}"

    def _described(self, use: PatternUse) -> str:
        unit = self.job.units
        cuts = [f"{say(cut.length, unit)} ({self.tags.common(use, place)})" for place, cut in enumerate(use.cuts)]
        left = use.left_over
        rest = f"; {'keep' if left.keep else 'scrap'} {say(left.length, unit)}" if left.length else ""
        sticks = names_in(tuple(runs_of(use.sticks)))
        return f"{sticks}, each {say(use.stock_length, unit)}: {', '.join(cuts)}{rest}."


@dataclass(frozen=True, slots=True)
class _Mark:
    """A mark and the x between which it belongs; ``count`` neighbours alike share it."""

    left: float
    right: float
    tag: str
    count: int = 1

    @property
    def text(self) -> str:
        """What stands in the ring: the tag, shortened to fit, and how many alike."""
        tag = fitted(self.tag, SIZE, _WIDEST)
        return tag if self.count == 1 else f"{self.count} × {tag}"

    @property
    def middle(self) -> float:
        """Where the ring stands along the panel."""
        return (self.left + self.right) / 2

    @property
    def width(self) -> float:
        """How wide the ring is."""
        return max(_RING, width_of(self.text, SIZE, bold=True) + 2.4)

    @property
    def fits(self) -> bool:
        """Whether the ring has room on the piece itself."""
        return self.count == 1 and self.width + 0.8 <= self.right - self.left


def draw_marks(face: Face, use: PatternUse, kerf: int, tags: Tags) -> tuple[tuple[Shape, ...], int]:
    """Return the pieces' marks in rings, and how many rows of them stand over the panel."""
    shapes: list[Shape] = []
    reach: list[float] = []
    right = face.x(use.stock_length)
    for mark in _shared(_marks(face, use, kerf, tags)):
        x, y = mark.middle, face.middle
        if not mark.fits:
            x = min(x, right - mark.width / 2)
            row = next((n for n, far in enumerate(reach) if far + 0.6 <= x - mark.width / 2), len(reach))
            reach[row:] = [x + mark.width / 2, *reach[row + 1 :]]
            y = face.top - 6.0 - row * ABOVE
            shapes.append(Strokes((((mark.middle, y + _RING / 2), (mark.middle, face.top + HEM + 1.5)),), THIN))
        shapes += [Ring(x, y, mark.width, _RING, THIN), Text(x, y + 1, mark.text, SIZE, bold=True)]
    return tuple(shapes), len(reach)


def _marks(face: Face, use: PatternUse, kerf: int, tags: Tags) -> Iterator[_Mark]:
    for span in spans_of(use, kerf):
        if span.part is Part.PIECE and span.place is not None:
            yield _Mark(face.x(span.start), face.x(span.end), tags.common(use, span.place))


def _shared(marks: Iterable[_Mark]) -> Iterator[_Mark]:
    """Join neighbours alike that are too narrow for a mark each."""
    last: _Mark | None = None
    for mark in marks:
        if last and last.tag == mark.tag and not mark.fits and mark.left - last.right < 1:
            last = replace(last, right=mark.right, count=last.count + 1)
            continue
        if last:
            yield last
        last = mark
    if last:
        yield last


def draw_plan(job: Job, plan: CutPlan) -> Drawing:
    """Return every pattern of every material, one below the other."""
    tags = Tags.of(job, plan)
    every = [drawing for part in plan.materials for drawing in _material(job, part, tags)]
    title = f"Cut drawing: {clean(job.name)}" if job.name else "Cut drawing"
    described = " ".join(drawing.description for drawing in every)
    return stacked(title, described or "Nothing is cut.", every)


def draw_patterns(job: Job, plan: MaterialPlan, tags: Tags, *, listed: bool = False) -> Iterator[Drawing]:
    """Yield one drawing for each pattern of a material, all to one scale; ``listed`` adds which stick gives what."""
    material = next(m for m in job.materials if m.id == plan.material)
    longest = max((use.stock_length for use in plan.patterns), default=1)
    drawer = PatternDrawer(job, material, tags, longest / (WIDTH - FACE - 1), listed)
    return map(drawer.draw, plan.patterns)


def _material(job: Job, plan: MaterialPlan, tags: Tags) -> Iterator[Drawing]:
    material = next(m for m in job.materials if m.id == plan.material)
    name = clean(f"{material.id}: {material.description}" if material.description else material.id)
    heading = Text(0, 5, fitted(name, 4, WIDTH), 4, Anchor.START, bold=True)
    legend = Text(0, 9.5, legend_of(material), 2.4, Anchor.START)
    yield Drawing(name, f"{name}.", WIDTH, 10, (heading, legend))
    yield from draw_patterns(job, plan, tags, listed=True)


def legend_of(material: Material) -> str:
    """Return what the signs on the drawings of this material mean."""
    face = face_of(material, 0, 0, 1)
    words = ["Seen on the face, nail hem up." if face.hem else "Seen on the face."]
    words += ["A notched end is a factory end."] * face.notched
    return " ".join([*words, "Cut at the arrows. Hatched = keep; cross-hatched = scrap."])
