"""The cut drawing: every pattern of a plan as one stick, dimensioned, with how many are cut so."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby

from service.drawing.dimensions import Stretch, chain
from service.drawing.lettering import clean, fitted
from service.drawing.marks import ABOVE, draw_marks
from service.drawing.panel import Face, draw_panel, face_of
from service.drawing.shapes import Anchor, Drawing, Shape, Text, moved, stacked
from service.drawing.spans import Part, Span, spans_of
from service.drawing.tags import common_tag, names, tag, tags_at
from service.printing import noun
from solver.job import Job
from solver.lengths import Unit, say
from solver.materials import Material
from solver.plan import CutPlan, MaterialPlan, PatternUse

WIDTH = 186.0
"""What fits between the margins of US Letter and of A4."""
_FACE = 28.0
_LISTED = 8
"""Sticks listed under a drawing that stands alone."""


def draw_plan(job: Job, plan: CutPlan) -> Drawing:
    """Return every pattern of every material, one below the other."""
    every = [drawing for part in plan.materials for drawing in _material(job, part)]
    title = f"Cut drawing: {clean(job.name)}" if job.name else "Cut drawing"
    described = " ".join(drawing.description for drawing in every)
    return stacked(title, described or "Nothing is cut.", every)


def draw_patterns(job: Job, plan: MaterialPlan, *, listed: bool = False) -> Iterator[Drawing]:
    """Yield one drawing for each pattern of a material, all to one scale; ``listed`` adds which stick gives what."""
    material = next(m for m in job.materials if m.id == plan.material)
    longest = max((use.stock_length for use in plan.patterns), default=1)
    scale = longest / (WIDTH - _FACE - 1)
    return (_pattern(job, material, use, scale, listed=listed) for use in plan.patterns)


def _material(job: Job, plan: MaterialPlan) -> Iterator[Drawing]:
    material = next(m for m in job.materials if m.id == plan.material)
    name = clean(f"{material.id}: {material.description}" if material.description else material.id)
    heading = Text(0, 5, fitted(name, 4, WIDTH), 4, Anchor.START, bold=True)
    legend = Text(0, 9.5, legend_of(material), 2.4, Anchor.START)
    yield Drawing(name, f"{name}.", WIDTH, 11, (heading, legend))
    yield from draw_patterns(job, plan, listed=True)


def legend_of(material: Material) -> str:
    """Return what the signs on the drawings of this material mean."""
    face = face_of(material, 0, 0, 1)
    words = ["Seen on the face, nail hem up." if face.hem else "Seen on the face."]
    words += ["A notched end is a factory end."] * face.notched
    return " ".join([*words, "Cut at the black points. Hatched: left over to keep; crossed: scrap."])


def _pattern(job: Job, material: Material, use: PatternUse, scale: float, *, listed: bool) -> Drawing:
    kerf, unit = material.settings.kerf, job.units
    face = face_of(material, _FACE, 0, scale)
    marks, rows = draw_marks(face, use, kerf)
    first = chain(_pieces(face, use, kerf, unit), face.bottom + 5.5, face.bottom + 0.6)
    whole = chain([_whole(face, job, material, use)], first.bottom + 3.6, face.bottom + 0.6)
    shapes = [*draw_panel(face, use, kerf, unit), *marks, *first.shapes, *whole.shapes]
    shapes += _caption(job, material, use, face)
    lines = list(_list(use)) if listed else []
    shapes += [Text(_FACE, whole.bottom + 3 + 3.4 * n, text, 2.4, Anchor.START) for n, text in enumerate(lines)]
    above = 4.0 + rows * ABOVE
    height = above + whole.bottom + 0.6 + 3.4 * len(lines)
    return Drawing(_title(job, material, use), _described(job, use), WIDTH, height, moved(shapes, 0, above))


def _pieces(face: Face, use: PatternUse, kerf: int, unit: Unit) -> list[Stretch]:
    """Return the chain of pieces; neighbours of one length are dimensioned together, ``3 @ 4'-2"``."""

    def alike(span: Span) -> object:
        return (span.part, span.length) if span.part is Part.PIECE else span

    groups = [list(group) for _, group in groupby(spans_of(use, kerf), key=alike)]
    return [_stretch(face, group, unit) for group in groups]


def _stretch(face: Face, spans: Sequence[Span], unit: Unit) -> Stretch:
    text = say(spans[0].length, unit)
    if len(spans) > 1:
        text = f"{len(spans)} @ {text}"
    text += {Part.PIECE: "", Part.ROOM: " room", Part.LEFT_OVER: " left over"}[spans[0].part]
    return Stretch(face.x(spans[0].start), face.x(spans[-1].end), text, tuple(face.x(s.end) for s in spans[:-1]))


def _whole(face: Face, job: Job, material: Material, use: PatternUse) -> Stretch:
    whose = "" if use.stock else " on hand"
    text = f"{say(use.stock_length, job.units)} {noun(job, material.id, 1)}{whose}"
    return Stretch(face.x(0), face.x(use.stock_length), text)


def _caption(job: Job, material: Material, use: PatternUse, face: Face) -> Iterator[Shape]:
    middle = face.top + face.height / 2
    yield Text(0, middle, f"{use.count} ×", 5, Anchor.START, bold=True)
    label = f"{noun(job, material.id, use.count)} {names(stick.stick for stick in use.sticks)}"
    yield Text(0, middle + 4, fitted(label, 2.3, _FACE - 1), 2.3, Anchor.START)
    if use.stock is None:
        known = dict.fromkeys(clean(stick.offcut_id or "") for stick in use.sticks)
        yield Text(0, middle + 7.2, fitted(f"from {', '.join(known)}", 2.3, _FACE - 1), 2.3, Anchor.START)


def _list(use: PatternUse) -> Iterator[str]:
    """Yield which stick gives what, where the sticks of a pattern differ."""
    if all(len(tags_at(use, place)) == 1 for place in range(len(use.cuts))):
        return
    for stick in use.sticks[:_LISTED]:
        yield f"{stick.stick}: {', '.join(map(tag, stick.pieces))}"
    if use.count > _LISTED:
        yield f"and {use.count - _LISTED} more: see the cut sheet"


def _title(job: Job, material: Material, use: PatternUse) -> str:
    what = noun(job, material.id, use.count)
    return f"{use.count} {what} of {clean(material.id)}, {say(use.stock_length, job.units)}"


def _described(job: Job, use: PatternUse) -> str:
    cuts = [f"{say(cut.length, job.units)} ({common_tag(use, place)})" for place, cut in enumerate(use.cuts)]
    left = use.left_over
    rest = f"; {'keep' if left.keep else 'left over'} {say(left.length, job.units)}" if left.length else ""
    sticks = names(stick.stick for stick in use.sticks)
    return f"{sticks}, each {say(use.stock_length, job.units)}: {', '.join(cuts)}{rest}."
