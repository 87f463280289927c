"""The cutting pages: for each material how every panel is cut, what is written on what, and what is kept."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping, Sequence
from itertools import groupby

from service.documents.blocks import BOX, Block, Column, Figure, Heading, Page, Paragraph, Table, Together
from service.drawing.lettering import Tags, clean, names
from service.drawing.pattern import BOXES, draw_patterns, legend_of
from service.views.facts import called, factory_end, material_of, to_cut
from solver.job import Job
from solver.lengths import Unit, say, say_pitch
from solver.materials import LapEnds, Material
from solver.plan import CutPlan, MaterialPlan, PatternUse, StickUse
from solver.required import End, Meets, Required, Ripped

END_FOR_END = "Panel face toward you, nail hem up. A panel can't be turned end for end: do not swap left and right."
RENOTCH = "Where a cut end is lapped, trim the nail hem and the lock there first, as at a factory end."
PATTERN = "Sloped ends: the length is the long edge. Make a pattern of the slope and mark every end from it."
_LABELLED = (
    Column("", 6), Column("Write on it", 24), Column("Length", 24), Column("From", 22), Column("Factory end", 24),
)  # fmt: skip
_WHERE = Column("Where, and rips", 34)
_BOXES = 40
"""So many boxes to tick; more sticks alike are tallied."""


def cutting_pages(job: Job, plan: CutPlan, labels: Mapping[str, str] | None = None) -> Iterator[Page]:
    """Yield one page or more for each material of which something is cut; the first begins with the cautions.

    ``labels`` says by its stick what is written on what is kept; without them it is the length.
    """
    cautions = [Paragraph(text) for text in plan.cautions]
    for part in (part for part in plan.materials if part.patterns):
        material = material_of(job, part.material)
        blocks = (
            *cautions,
            *_before(job, material),
            *_pieces(job, part),
            *_patterns(job, part),
            *_kept(job, part, labels),
        )
        yield Page(f"To cut: {called(material)}", blocks)
        cautions = []


def _before(job: Job, material: Material) -> Iterator[Block]:
    if material.category.kind.is_panel:
        yield Paragraph(END_FOR_END, strong=True)
    if material.settings.lap_ends is LapEnds.RENOTCHED:
        yield Paragraph(RENOTCH)
    if material.settings.kerf:
        yield Paragraph(f"Saw kerf allowed for: {say(material.settings.kerf, job.units)} a cut.")


def _pieces(job: Job, part: MaterialPlan) -> Iterator[Block]:
    """Yield the list of pieces, so that it can be held against the list that was asked for."""
    cut: dict[int, Counter[tuple[int, int]]] = defaultdict(Counter)
    for use, stick in part.sticks():
        for piece, made in zip(stick.pieces, use.cuts, strict=True):
            cut[piece.item][made.length, made.room] += 1
    columns: tuple[Column, ...] = (
        Column("Mark", 14), Column("How many", 16), Column("Measured", 14), Column("Left end", 18),
        Column("Right end", 18), Column("Cut length", 32),
    )  # fmt: skip
    yield Heading("Pieces")
    runs = Counter(run.item for run in part.runs)
    rows = tuple(_piece(job, item, cut[item], runs[item]) for item in sorted(cut))
    where = tuple(_where(job.required[item], job.units) for item in sorted(cut))
    if any(where):
        columns, rows = (*columns, _WHERE), tuple((*row, text) for row, text in zip(rows, where, strict=True))
    yield Table(columns, rows)
    if any(end.slope for item in cut for end in (job.required[item].left_end, job.required[item].right_end)):
        yield Paragraph(PATTERN)


def _piece(job: Job, item: int, cut: Counter[tuple[int, int]], runs: int) -> tuple[str, ...]:
    """Return one item's row; of an item laid in runs, what was measured is a run and what is cut are its pieces."""
    required = job.required[item]
    ends = _end(required.left_end, job.units), _end(required.right_end, job.units)
    lengths = [_length(job, *key, count if len(cut) > 1 else 1) for key, count in sorted(cut.items(), reverse=True)]
    pieces = f"{cut.total()} piece{'s' * (cut.total() > 1)}"
    how_many = f"{runs} run{'s' * (runs > 1)}, {pieces}" if runs else str(cut.total())
    return clean(required.mark), how_many, say(required.length, job.units), *ends, ", ".join(lengths)


def _where(required: Required, unit: Unit) -> str:
    """Return where an item goes and how it is ripped, as far as it says so."""
    rips = [f"{_course(rip)}{rip_words(rip, unit)}" for rip in required.rips]
    return "; ".join([clean(required.ref), *rips] if required.ref else rips)


def _course(rip: Ripped) -> str:
    return f"course {rip.course}: " if rip.course is not None else ""


def rip_words(rip: Ripped, unit: Unit) -> str:
    """Return what to do at the saw for a rip."""
    left, right = say(rip.left, unit), say(rip.right, unit)
    ends = left if left == right else f"{left} at the left, {right} at the right"
    return f"rip to {ends}, keep the {rip.keeps}"


def _length(job: Job, length: int, room: int, count: int) -> str:
    text = say(length, job.units) if count == 1 else f"{count} of {say(length, job.units)}"
    return f"{text}, room to {say(length + room, job.units)}: measure before cutting" if room else text


def _end(end: End, unit: Unit) -> str:
    word = {Meets.PLAIN: "plain", Meets.CHANNEL: "in a channel", Meets.LAP: "lapped"}[end.meets]
    if end.slope is None:
        return word
    pitch, upright = say_pitch(end.slope.pitch, unit), end.slope.upright
    slope = f"upright for {say(upright, unit)} from the {end.slope.long_edge}, then {pitch}" if upright else pitch
    return f"{word}, {slope}, long at the {end.slope.long_edge}"


def _patterns(job: Job, part: MaterialPlan) -> Iterator[Block | Together]:
    material, tags = material_of(job, part.material), Tags.of(part)
    yield Heading(f"Cuts: {to_cut(material, part)}")
    yield Paragraph(legend_of(material))
    for use, drawing in zip(part.patterns, draw_patterns(job, part), strict=True):
        yield Together((Figure(drawing), *_sticks(use, tags)))


def _sticks(use: PatternUse, tags: Tags) -> Iterator[Table]:
    """Yield what each stick gives, from the left, where the drawing does not say it all; those alike share a row."""
    if use.count <= BOXES and tags.alike(use):
        return
    rows = [_alike(list(group), text) for text, group in groupby(use.sticks, key=tags.given)]
    shares = (5, 13, 82) if all(row[0] == BOX for row in rows) else (34, 18, 48)
    yield Table(tuple(Column("", share) for share in shares), tuple(rows))


def _alike(sticks: Sequence[StickUse], text: str) -> tuple[str, ...]:
    return boxes(len(sticks)), names(stick.stick for stick in sticks), text


def boxes(count: int) -> str:
    """Return so many boxes to tick, in fives; where they are too many, a line for a tally."""
    if count > _BOXES:
        return f"of {count} cut: ____________"
    fives, rest = divmod(count, 5)
    return " ".join([BOX * 5] * fives + [BOX * rest] * bool(rest))


def _kept(job: Job, part: MaterialPlan, labels: Mapping[str, str] | None) -> Iterator[Block]:
    kept = [use for use in part.patterns if use.left_over.keep]
    if kept and labels is not None:
        yield Heading("Offcuts to keep: write the label on each")
        yield Table(_LABELLED, tuple(row for use in kept for row in _labelled(job, use, labels)))
    elif kept:
        columns = (Column("", 24), Column("Write on it", 30), Column("From", 22), Column("Factory end", 24))
        yield Heading("Offcuts to keep: write the length on each")
        yield Table(columns, tuple(_keep(job, use) for use in kept))


def _labelled(job: Job, use: PatternUse, labels: Mapping[str, str]) -> Iterator[tuple[str, ...]]:
    length, end = say(use.left_over.length, job.units), factory_end(use.left_over.factory_end)
    for stick in use.sticks:
        yield BOX, labels[stick.stick], length, stick.stick, end


def _keep(job: Job, use: PatternUse) -> tuple[str, ...]:
    length = say(use.left_over.length, job.units)
    return boxes(use.count), length, names(s.stick for s in use.sticks), factory_end(use.left_over.factory_end)
