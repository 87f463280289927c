"""The saw sheet: for each material, stop by stop, which sticks are cut to which lengths, and what each piece is called.

A setting is read from the left end of the stick: the length of each piece, the mark of its cut on a tape along the
stick where that is another figure, and what is written on the piece. Stops come from the longest to the shortest, and
sticks cut alike stand together. A panel is drawn only where its shape has to be shown.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby

from service.documents.blocks import (
    BOX,
    Block,
    Cell,
    Cuts,
    Figure,
    Heading,
    Line,
    Page,
    Paragraph,
    Role,
    Setting,
    Word,
)
from service.drawing.layout import Shape, shapes_of
from service.drawing.lettering import Tags, clean, names_in, taped
from service.drawing.panel import Part, Span, spans_of
from service.drawing.shaped import draw_shaped
from service.views.facts import called, factory_ends, material_of, to_cut
from service.views.written import quoted
from solver.categories import LapEnds
from solver.job import Job
from solver.lengths import Unit, say
from solver.materials import AT_THE_SAW, Material
from solver.plan import CutPlan, LeftOver, MaterialPlan, PatternUse
from solver.required import Ripped
from solver.sticks import StickRun, StickUse, runs_of

END_FOR_END = "Panel face toward you, nail hem up. A panel can't be turned end for end: do not swap left and right."
RENOTCH = "Where a cut end is lapped, trim the nail hem and the lock there first, as at a factory end."
TO_NO_SCALE = "Drawn to no scale; heights are above the lower lip."
PATTERN = "Sloped ends: the length is the long edge. Make a pattern of the slope and mark every end from it."
FROM_LEFT, FROM_RIGHT = "▾", "◂"
NO_KERF = "No kerf is allowed for: what a blade takes, the next piece lacks."
LEGEND = (
    "Between two rules: sticks cut alike, from left to right. Large: the length of a piece. "
    f"{FROM_LEFT} its cut on a tape from the left end, {FROM_RIGHT} from the right end; without a figure it is the "
    "length. A piece ends at its mark: saw just beyond it. S1: a stick by its number in the plan; the longest cut is "
    "first. "
    f"Bold: write it on the piece. {BOX} tick each stick when it is cut. Keep: write {{what}} on it. "
    "Notches, holes and slopes are drawn after the cuts, rips told there."
)
NAMES = "{wall} 2·3 is the 3rd piece from the left in course 2 of wall {wall}."
_BOXES = 40
"""So many boxes to tick; more sticks alike are tallied."""
_FLOW = 4
"""So many sticks stand in a line where each gives one piece."""
Labels = Mapping[str, str]
"""What is written on what is kept, by its stick."""
Stop = tuple[Span, ...]
"""Neighbouring pieces of one length, cut to one stop; or the left-over alone."""


def cutting_pages(job: Job, plan: CutPlan, labels: Labels | None = None, exposure: int | None = None) -> Iterator[Page]:
    """Yield the saw sheet, on which materials follow one another; nothing where nothing is cut.

    ``labels`` says by its stick what is written on what is kept; without them it is the length. ``exposure`` is what
    a course covers, in ticks, where walls were measured.
    """
    parts = [part for part in plan.materials if part.patterns]
    if parts:
        tags, shapes = Tags.of(job, plan), shapes_of(job, plan)
        legend = LEGEND.format(what="its length" if labels is None else "the label")
        blocks = [*_cautions(plan, at_the_saw=True), *_legend(legend, job, parts, tags)]
        for part in parts:
            blocks += _material(_Saw(job, material_of(job, part.material), tags, shapes, labels, exposure), part)
        yield Page("To cut", (*blocks, *_cautions(plan, at_the_saw=False)))


def _cautions(plan: CutPlan, *, at_the_saw: bool) -> Iterator[Block]:
    if texts := [text for text in plan.cautions if (text in AT_THE_SAW) is at_the_saw]:
        yield Paragraph(" ".join(texts))


def _legend(legend: str, job: Job, parts: Sequence[MaterialPlan], tags: Tags) -> Iterator[Block]:
    if any(material_of(job, part.material).category.kind.is_panel for part in parts):
        yield Paragraph(END_FOR_END, strong=True)
    notes = dict.fromkeys(material_of(job, part.material).category.kind.note for part in parts)
    yield from (Paragraph(note) for note in notes if note)
    if not any(material_of(job, part.material).settings.kerf for part in parts):
        legend = f"{legend} {NO_KERF}"
    if any(map(quoted, job.required)):
        legend = f"{legend} In quotes: as the customer wrote it."
    walls = [clean(tags.walls[item]) for item, *_ in tags.counted]
    yield Paragraph(f"{legend} {NAMES.format(wall=walls[0])}" if walls else legend)


@dataclass(frozen=True, slots=True)
class _Saw:
    """One material at the saw: what its pieces are called, how they are shaped, what is written on what is kept."""

    job: Job
    material: Material
    tags: Tags
    shapes: Mapping[tuple[str, int], Shape]
    labels: Labels | None
    exposure: int | None = None

    def source(self, use: PatternUse) -> str:
        """Return what a stick is taken from."""
        if use.stock is None:
            return "from offcuts on hand"
        return f"from {say(use.stock_length, self.job.units)} {self.material.category.kind.noun(2)}"

    def setting(self, use: PatternUse) -> Setting:
        """Return how the sticks of a pattern are cut."""
        stops = self._stops(use)
        rows = [list(group) for _, group in groupby(self._runs(use), key=lambda run: self._given(run, stops))]
        if len(rows) == 1:
            return Setting(tuple(self._alone(use, stops, rows[0])))
        if len(use.cuts) == 1:
            return Setting(tuple(self._flowing(use, stops, rows)))
        return Setting(tuple(self._listed(use, stops, rows)))

    def _runs(self, use: PatternUse) -> Iterator[StickRun]:
        """Yield the sticks of a pattern in runs of those that everything written is the same of."""
        return runs_of(tuple(use.sticks)) if self.labels else self.tags.runs_alike(use.sticks)

    def _stops(self, use: PatternUse) -> tuple[Stop, ...]:
        """Return the spans of a stick, neighbours of one length together; room is said with its piece."""
        spans = [span for span in spans_of(use, self.material.settings.kerf) if span.part is not Part.ROOM]
        far = use.left_over.after

        def alike(span: Span) -> object:
            if span.place is None:
                return None
            return span.length, span.place >= far, use.cuts[span.place].room, self._shaped(use, span)

        return tuple(tuple(group) for _, group in groupby(spans, key=alike))

    def _shaped(self, use: PatternUse, span: Span) -> object:
        """Return what keeps a piece apart from its neighbours: pieces that go to walls, each by its own name."""
        assert span.place is not None
        return span.place if any(self.tags.short(run.pieces[span.place]) for run in runs_of(use.sticks)) else None

    def _given(self, sticks: StickRun, stops: Sequence[Stop]) -> object:
        return [self._names(sticks, stop) for stop in stops], sticks.offcut_id

    def _alone(self, use: PatternUse, stops: Sequence[Stop], sticks: Sequence[StickRun]) -> Iterator[Line]:
        """Yield stops and names in one: every stick gives the same."""
        cells = [(*self._stop(use, stop), *self._names(sticks[0], stop)) for stop in stops]
        yield from _lines(self._sticks(use, sticks), cells)

    def _flowing(self, use: PatternUse, stops: Sequence[Stop], rows: Sequence[Sequence[StickRun]]) -> Iterator[Line]:
        """Yield the stop, then the sticks one behind the other: each gives one piece."""
        piece = next(stop for stop in stops if stop[0].place is not None)
        yield from _lines(_count(use), [self._stop(use, stop) for stop in stops])
        cells = [
            (*self._sticks(use, row), *self._names(row[0], piece), *self._label(row[0], before="keep ")) for row in rows
        ]
        yield from (Line((), _FLOW, tuple(cells[n : n + _FLOW])) for n in range(0, len(cells), _FLOW))

    def _listed(self, use: PatternUse, stops: Sequence[Stop], rows: Sequence[Sequence[StickRun]]) -> Iterator[Line]:
        """Yield the stops, then a line for the sticks that give the same pieces."""
        yield from _lines(_count(use), [self._stop(use, stop) for stop in stops])
        for row in rows:
            yield from _lines(self._sticks(use, row), [self._names(row[0], stop) for stop in stops])

    def _sticks(self, use: PatternUse, sticks: Sequence[StickRun]) -> Cell:
        count = sum(run.count for run in sticks)
        words = [Word(Role.COUNT, f"{count} ×")] if count > 1 else []
        words += [Word(Role.BOXES, boxes(count)), Word(Role.STICKS, names_in(sticks))]
        if use.stock is None:
            label = clean(sticks[0].offcut_id or "")
            words.append(Word(Role.STICKS, f"{label}, {say(use.stock_length, self.job.units)}"))
        return tuple(words)

    def _stop(self, use: PatternUse, stop: Stop) -> Cell:
        """Return what the saw is set to, and where the cut lies on a tape."""
        first, unit = stop[0], self.job.units
        if first.place is None:
            return tuple(self._rest(use.left_over))
        count = f"{len(stop)} × " if len(stop) > 1 else ""
        words = [Word(Role.LENGTH, f"{count}{taped(first.length, unit)}"), *self._marks(use, stop)]
        if room := use.cuts[first.place].room:
            words.append(Word(Role.WHERE, f"room to {taped(first.length + room, unit)}: measure before cutting"))
        return tuple(words)

    def _rest(self, left: LeftOver) -> Iterator[Word]:
        length = taped(left.length, self.job.units)
        if not left.keep:
            yield Word(Role.REST, f"scrap {length}")
            return
        yield Word(Role.KEEP, f"keep {length}")
        if self.material.settings.lap_ends is not LapEnds.ANY:
            yield Word(Role.WHERE, factory_ends(left.factory_end))

    def _marks(self, use: PatternUse, stop: Stop) -> Iterator[Word]:
        """Yield where the cuts of a stop lie: none at the stick's end, none twice where it is the length itself."""
        unit, first = self.job.units, stop[0]
        assert first.place is not None
        if first.place >= use.left_over.after and use.left_over.length:
            last = stop[-1].end == use.stock_length
            yield Word(
                Role.MARK,
                f"{FROM_RIGHT} {taped(use.stock_length - first.start, unit)}"
                if not last or len(stop) > 1
                else FROM_RIGHT,
            )
            return
        ends = [span.end for span in stop if span.end != use.stock_length]
        if ends and (first.start or len(ends) > 1):
            yield Word(Role.MARK, f"{FROM_LEFT} {', '.join(taped(end, unit) for end in ends)}")
        elif not ends and len(stop) == 1:
            yield Word(Role.MARK, "whole" if not first.start else "to the end")

    def _names(self, stick: StickRun, stop: Stop) -> Cell:
        """Return what the pieces of a stop are called, and where each goes."""
        placed = [(span.place, stick.pieces[span.place]) for span in stop if span.place is not None]
        words: list[Word] = []
        if not placed:
            words += self._label(stick)
        for tag, group in groupby(placed, key=lambda pair: self.tags.tag(pair[1])):
            pieces = list(group)
            place, piece = pieces[0]
            words.append(Word(Role.NAME, f"{len(pieces)} × {tag}" if len(placed) > len(pieces) > 1 else tag))
            item = self.job.required[piece.item]
            where = [] if self.tags.short(piece) else [clean(item.ref or ""), quoted(item)]
            shape = self.shapes.get((stick.stick, place + 1))
            if text := ", ".join(filter(None, [*where, *(shape.words if shape else ())])):
                words.append(Word(Role.WHERE, text))
        return tuple(words)

    def _label(self, stick: StickRun, before: str = "") -> Iterator[Word]:
        """Yield what is written on what is kept of a stick, where that is not its length."""
        if self.labels and stick.stick in self.labels:
            yield Word(Role.NAME, f"{before}{self.labels[stick.stick]}")


def _lines(sticks: Cell, cells: Sequence[Cell]) -> Iterator[Line]:
    """Yield cells in as many lines as they take, the sticks in the first of them."""
    columns = 3 if len(cells) <= 3 else 4
    for n in range(0, len(cells), columns):
        yield Line(() if n else sticks, columns, tuple(cells[n : n + columns]))


def _count(use: PatternUse) -> Cell:
    return (Word(Role.COUNT, f"{use.count} ×"),)


def _in_order(use: PatternUse) -> tuple[object, ...]:
    """Return what settings are sorted by: the longest stock first, offcuts last, then from the longest stop down."""
    stops = sorted(-cut.length for cut in use.cuts)
    return use.stock is None, -use.stock_length if use.stock else 0, stops


def boxes(count: int) -> str:
    """Return so many boxes to tick, in fives; where they are too many, a line for a tally."""
    if count > _BOXES:
        return f"of {count} cut: ____________"
    fives, rest = divmod(count, 5)
    return " ".join([BOX * 5] * fives + [BOX * rest] * bool(rest))


def _material(saw: _Saw, part: MaterialPlan) -> Iterator[Block]:
    by_source = [(head, list(uses)) for head, uses in groupby(sorted(part.patterns, key=_in_order), key=saw.source)]
    one = f" ({by_source[0][0]})" if len(by_source) == 1 else ""
    yield Heading(f"{called(saw.material)}: {to_cut(saw.material, part)}{one}")
    settings = saw.material.settings
    if settings.lap_ends is LapEnds.RENOTCHED:
        yield Paragraph(RENOTCH)
    if settings.kerf:
        yield Paragraph(f"Saw kerf allowed for: {say(settings.kerf, saw.job.units)} a cut.")
    for head, uses in by_source:
        if not one:
            yield Paragraph(f"{head[0].upper()}{head[1:]}", strong=True)
        yield Cuts(tuple(map(saw.setting, uses)))
    yield from _shaped(saw, part)


def _shaped(saw: _Saw, part: MaterialPlan) -> Iterator[Block]:
    """Yield rips in words, and what no words can tell drawn: sloped ends, notches and holes."""
    if not saw.shapes:
        return
    own = [saw.shapes[key] for _, stick in part.sticks() for key in _places(stick) if key in saw.shapes]
    ripped: dict[str, list[str]] = defaultdict(list)
    for shape in own:
        for rip in shape.rips:
            ripped[rip_words(rip, saw.job.units)].append(shape.piece.tag)
    for words, tags in ripped.items():
        yield Paragraph(f"{words[0].upper()}{words[1:]}: {', '.join(dict.fromkeys(tags))}.", strong=True)
    drawn = [shape for shape in own if shape.is_drawn]
    if drawn:
        yield Heading(f"Notches and sloped ends: {called(saw.material)}")
        sloped = any(shape.left or shape.right for shape in drawn)
        yield Paragraph(f"{TO_NO_SCALE} {PATTERN}" if sloped else TO_NO_SCALE)
        yield from (Figure(row) for row in draw_shaped(drawn, saw.job.units, saw.exposure))


def _places(stick: StickUse) -> Iterator[tuple[str, int]]:
    return ((stick.stick, place) for place in range(1, len(stick.pieces) + 1))


def rip_words(rip: Ripped, unit: Unit) -> str:
    """Return what to do at the saw for a rip."""
    left, right = taped(rip.left, unit), taped(rip.right, unit)
    ends = left if left == right else f"{left} at the left, {right} at the right"
    return f"rip to {ends}, keep the {rip.keeps}"
