"""Soffit under porch ceilings and under eaves: panels, the last one ripped, channel, fascia, and what holds them.

Soffit is not lapped end to end: a ceiling's span longer than the stick is divided by back-to-back channel. Eaves run
from the wall's channel to the subfascia and turn their corners square or mitred.

Eaves that name the same corner share it. At an outside corner their soffits reach over it, at an inside corner they lie
over one another and one of them is cut back or both are mitred. A mitre runs in plan from the corner of the wall to the
corner of the fascia: root of (one overhang squared + the other squared), with two channels back to back (an
installer's page; geometry). An eave without a named partner is taken to meet one of its own overhang.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from math import ceil

from solver.job import Notice
from solver.lengths import TICKS_PER_MM, say, told
from solver.required import Edge as PanelEdge
from solver.required import End, Meets, Side, Slope
from solver.takeoff import rules
from solver.takeoff.answer import Figure, SoffitRow, Term, Trim, add_up, count_of, decimal
from solver.takeoff.ends import slope_length, step_of
from solver.takeoff.measured import Ceiling, Eave, EaveCorner, House, LastPanel, Role
from solver.takeoff.rules import Settings
from solver.takeoff.survey import ceil_div


def nailers(house: House, span: int) -> Figure:
    """Return how many nailer lines a span needs between its ends, so that no stretch is over the settings' limit."""
    limit = house.settings.soffit_span
    needed = max(0, ceil_div(span, limit) - 1)
    text = f"{say(span, house.unit)} / {say(limit, house.unit)}, rounded up, less 1 = {needed} lines across the panels"
    return count_of("nailer lines", needed, text, rules.UNSUPPORTED_SOFFIT.source)


def ceiling_notices(house: House, ceiling: Ceiling, row: SoffitRow) -> Iterator[Notice]:
    """Yield what to know of a ceiling: a span without support, long panels."""
    needed = int(nailers(house, ceiling.span).value)
    if ceiling.nailers < needed:
        yield _unsupported(house, f"{row.place}: {needed} nailer lines are needed and {ceiling.nailers} are there")
    if row.span >= rules.TWO_PEOPLE_FROM.value:
        yield Notice("two_people", f"{row.place}: panels of {say(row.span, house.unit)} take two people to put up")


def eave_notices(house: House, eave: Eave) -> Iterator[Notice]:
    """Yield what to know of an eave: an overhang without support."""
    if eave.overhang > house.settings.soffit_span:
        words = f"eave {eave.id}: {say(eave.overhang, house.unit)} from wall to subfascia needs a nailer between"
        yield _unsupported(house, words)


def _unsupported(house: House, words: str) -> Notice:
    limit = house.settings.soffit_span
    rule = f"soffit may span {say(limit, house.unit)} ({rules.UNSUPPORTED_SOFFIT.source})"
    return Notice("soffit_unsupported", f"{words}; {rule}", needed=limit)


CEILING_RULE = "{1/4 in} at each end: an anonymous article on porch ceilings"
CHANNELLED = End(Meets.CHANNEL)


def ceiling_row(house: House, ceiling: Ceiling, longest: int, gap: int) -> SoffitRow:
    """Return the panels of a ceiling; ``longest`` is the longest stick (0: unknown), ``gap`` the end gap, in ticks."""
    span, row = ceiling.span, ceiling.row
    clear = span - 2 * ceiling.takes_up
    parts = _parts(clear, ceiling.divider, longest, gap)
    part = (clear - (parts - 1) * ceiling.divider) // parts
    source = told(CEILING_RULE, house.unit)
    length = add_up("soffit panel, clear", _terms(ceiling, span, parts, part), house.unit, source)
    laid = laid_out(house, row - 2 * ceiling.takes_up, ceiling.last)
    quantity = parts * laid.count
    divided = (_divided(house, clear, parts, part),) if parts > 1 else ()
    figures = (*divided, length, *laid.figures, nailers(house, ceiling.span), *vented(house, quantity))
    ends = CHANNELLED, CHANNELLED
    lies = f"along its {ceiling.panels}, side by side"
    return SoffitRow(
        f"ceiling {ceiling.id}", part, quantity, ends, parts, figures, parts * laid.ripped, laid.ripped_to, lies
    )


def _parts(clear: int, divider: int, longest: int, gap: int) -> int:
    """The fewest equal parts that each fit the stick: parts x (longest + both gaps) + dividers between >= clear."""
    if not longest:
        return 1
    return max(1, ceil_div(clear + divider, longest + 2 * gap + divider))


def _terms(ceiling: Ceiling, span: int, parts: int, part: int) -> list[Term]:
    if parts == 1:
        return [Term(span, "between the walls"), Term(-2 * ceiling.takes_up, "taken up by the channels")]
    return [Term(part, "from pocket to pocket")]


def _divided(house: House, clear: int, parts: int, part: int) -> Figure:
    text = f"{say(clear, house.unit)} is longer than a panel: {parts} lengths of {say(part, house.unit)}"
    return count_of("divided into", parts, f"{text} with back-to-back channel between", rules.NO_SOURCE)


@dataclass(frozen=True, slots=True)
class Laid:
    """Panels side by side: how many, how many of them are ripped and to what width, in ticks, and why."""

    count: int
    figures: tuple[Figure, ...]
    ripped: int = 0
    ripped_to: int = 0


def laid_out(house: House, row: int, last: LastPanel) -> Laid:
    """Lay panels over ``row`` ticks, pocket to pocket; one that is ripped stays its clearance short of its pocket."""
    coverage, clear = coverage_of(house), house.settings.height_clearance
    count = ceil_div(row, coverage)
    rest = row - (count - 1) * coverage
    if rest <= clear and count > 1:
        text = f"{counted(house, row)}, less 1: the last {say(rest, house.unit)} lie in the pocket's clearance"
        return Laid(count - 1, (count_of("soffit panels", count - 1, text),))
    figure = count_of("soffit panels", count, counted(house, row))
    if rest == coverage:
        return Laid(count, (figure,))
    ripped = _ripped(house, row, count, rest, last)
    return Laid(count, (figure, ripped), 1 if last is LastPanel.ONE or count < 2 else 2, int(ripped.value))


def coverage_of(house: House) -> int:
    """Return the width one soffit panel covers, in ticks; ``refusals`` asks for it where it is needed."""
    return house.coverage or 1


def counted(house: House, row: int) -> str:
    """Return in words how many panels a row of soffit takes."""
    coverage = coverage_of(house)
    exact, count = decimal(Fraction(row, coverage)), ceil_div(row, coverage)
    return f"{say(row, house.unit)} / {say(coverage, house.unit)} = {exact}, rounded up = {count} panels"


def _ripped(house: House, row: int, count: int, rest: int, last: LastPanel) -> Figure:
    unit, coverage, clear = house.unit, coverage_of(house), house.settings.height_clearance
    short = Term(-clear, "short of the back of the pocket")
    if last is LastPanel.ONE or count < 2:
        whole = Term(row, "across"), Term(-(count - 1) * coverage, f"for {count - 1} whole panels")
        return add_up("last panel ripped to", (*whole, short), unit, rules.HEIGHT_CLEARANCE.source)
    step = step_of(unit)
    words = f"at both sides, half of {say(rest, unit)} + {say(coverage, unit)}, {count - 2} whole between"
    half = Term((rest + coverage) // 2 // step * step, words)
    return add_up("first and last panel ripped to", (half, short), unit, rules.HEIGHT_CLEARANCE.source)


def vented(house: House, quantity: int) -> Iterator[Figure]:
    """Yield how many of the panels are vented, where the settings give a share."""
    share = house.settings.vented
    if share:
        number = ceil(quantity * share)
        text = f"{quantity} panels x {decimal(share, 4)} = {number}, rounded up"
        yield count_of("vented panels", number, text, VENTING)


VENTING = "1 in 3 (a European maker); about a quarter (a lumber yard): they conflict; free area by local code"


def ceiling_trim(house: House, ceiling: Ceiling, row: SoffitRow) -> Iterator[Trim]:
    """Yield the channel along all four sides, and two back to back at each division."""
    sides = ((ceiling.length, "along its length"), (ceiling.width, "along its width"))
    for length, what in sides:
        yield _channel(house, ceiling, length, 2, what)
    if row.parts > 1:
        yield _channel(house, ceiling, ceiling.row, 2 * (row.parts - 1), "back to back where the span is divided")


def _channel(house: House, ceiling: Ceiling, length: int, quantity: int, what: str) -> Trim:
    figure = add_up("soffit channel", [Term(length, what)], house.unit)
    return Trim.of(Role.SOFFIT_CHANNEL, f"ceiling {ceiling.id}: {what}", figure, quantity)


PLAIN = End()
METRE = 1000 * TICKS_PER_MM
EXPANSION = (
    "a European maker: over 1 m a soffit is shorter by its growth at 0.08 mm per m and degree C; "
    "a Canadian maker's figure of 8 mm in 3 m for 55 degrees is 0.0485"
)


@dataclass(frozen=True, slots=True)
class Turn:
    """One end of an eave: how it turns its corner, and the overhang of the eave it meets there, in ticks."""

    how: EaveCorner
    other: int
    corner: str | None

    @property
    def soffit(self) -> int:
        """How much longer than the wall its row of whole panels is."""
        shorter = self.how in (EaveCorner.INSIDE_MITRED, EaveCorner.INSIDE_BUTT)
        return -self.other if shorter else self.other * (self.how is EaveCorner.SQUARE)

    @property
    def fascia(self) -> int:
        """How much longer than the wall its fascia is; an eave that stops at a named square corner goes round it."""
        return -self.other if self.how.inside else self.other


def turns_of(house: House, eave: Eave) -> tuple[Turn, Turn]:
    """Return the left and the right end of an eave."""
    return _turn(house, eave, eave.left, eave.left_corner), _turn(house, eave, eave.right, eave.right_corner)


def _turn(house: House, eave: Eave, how: EaveCorner, corner: str | None) -> Turn:
    others = (o for o in house.eaves if o is not eave and corner and corner in (o.left_corner, o.right_corner))
    alone = 0 if how is EaveCorner.NONE else eave.overhang
    return Turn(how, next((other.overhang for other in others), alone), corner)


def eave_rows(house: House, eave: Eave) -> Iterator[SoffitRow]:
    """Yield the full panels of an eave, then those cut to its mitred corners, longest first.

    A panel is shorter than the overhang by ``eave_gap`` in all, here and at the mitres.
    """
    turns = turns_of(house, eave)
    length = eave.length + sum(turn.soffit for turn in turns)
    cut = _cut(house, eave.overhang, "wall to subfascia")
    mitres = [turn for turn in turns if turn.how.mitred]
    laid = _running_on(house, length) if mitres else laid_out(house, length, LastPanel.ONE)
    figures = (cut, *laid.figures, *vented(house, laid.count))
    yield SoffitRow(
        f"eave {eave.id}", int(cut.value), laid.count, (PLAIN, PLAIN), 1, figures, laid.ripped, laid.ripped_to
    )
    for other, quantity in Counter(turn.other for turn in mitres).items():
        for number in range(ceil_div(other, coverage_of(house))):
            yield _mitred(house, eave, other, number, quantity)


def _running_on(house: House, length: int) -> Laid:
    """Lay whole panels along an eave whose last one runs on into the mitre."""
    count = ceil_div(length, coverage_of(house))
    return Laid(count, (count_of("soffit panels", count, counted(house, length)),))


def _cut(house: House, long: int, what: str) -> Figure:
    gap, why, source = _gap(house.settings, long)
    return add_up("soffit panel, cut", [Term(long, what), Term(-gap, why)], house.unit, source)


def _gap(settings: Settings, long: int) -> tuple[int, str, str]:
    """What an eave's panel is shorter in all, why, and whose rule that is."""
    if settings.warmer_by is None or long <= METRE:
        return settings.eave_gap, "in all", rules.SOFFIT_GAP_IN_ALL.source
    growth = ceil(Fraction(long * settings.expansion, METRE * 1000) * settings.warmer_by * TICKS_PER_MM)
    rate = f"{decimal(Fraction(settings.expansion, 1000), 4)} mm per m and degree C"
    return growth, f"growth, {rate} x {decimal(settings.warmer_by)} degrees", EXPANSION


def _mitred(house: House, eave: Eave, other: int, number: int, quantity: int) -> SoffitRow:
    """The panels so many coverages from the corner: the overhang, less as much as the mitre has gone across it."""
    gone = Fraction(eave.overhang * number * coverage_of(house), other)
    long = eave.overhang - ceil(gone)
    cut = _cut(house, long, "long edge at the mitre, the other edge shorter by the panel's coverage")
    mitre = End(Meets.PLAIN, Slope(Fraction(other, eave.overhang), Side.RIGHT, PanelEdge.BOTTOM))
    return SoffitRow(f"eave {eave.id}, mitred corner", max(1, int(cut.value)), quantity, (mitre, PLAIN), 1, (cut,))


def eave_trim(house: House, eave: Eave) -> Iterator[Trim]:
    """Yield the channel along the wall and the fascia's cover."""
    channel = add_up("soffit channel", [Term(eave.length, "along the wall")], house.unit)
    yield Trim.of(Role.SOFFIT_CHANNEL, f"eave {eave.id}: along the wall", channel)
    if eave.fascia:
        round_corners = sum(turn.fascia for turn in turns_of(house, eave))
        terms = [Term(eave.length, "along the wall"), Term(round_corners, "round the corners")]
        cover = add_up("fascia cover", terms, house.unit, rules.NO_SOURCE)
        yield Trim.of(Role.FASCIA, f"eave {eave.id}: fascia", cover)


def mitre_trim(house: House) -> Iterator[Trim]:
    """Yield two channels back to back along each mitre, once a corner; ends without a name meet two by two."""
    shared: dict[str, tuple[int, int]] = {}
    alone: Counter[tuple[int, bool]] = Counter()
    for eave in house.eaves:
        for turn in turns_of(house, eave):
            if turn.how.mitred and turn.corner:
                shared.setdefault(turn.corner, (eave.overhang, turn.other))
            elif turn.how.mitred:
                alone[eave.overhang, turn.how.inside] += 1
    for corner, (one, other) in shared.items():
        yield _mitre(house, f"eaves, corner {corner}: mitre", one, other, 2)
    for (overhang, inside), ends in alone.items():
        where = f"eaves, {'inside' if inside else 'outside'} corners without a name: mitre"
        yield _mitre(house, where, overhang, overhang, 2 * ceil_div(ends, 2))


def _mitre(house: House, place: str, one: int, other: int, quantity: int) -> Trim:
    unit = house.unit
    how = (
        f"{say(one, unit)} x root of 2"
        if one == other
        else f"root of ({say(one, unit)} squared + {say(other, unit)} squared)"
    )
    text = [Term(slope_length(one, other, unit), f"{how}, rounded up, two back to back")]
    return Trim.of(Role.SOFFIT_CHANNEL, place, add_up("channel along the mitre", text, unit, rules.GEOMETRY), quantity)


def corner_faults(house: House) -> Iterator[tuple[int, str, str]]:
    """Yield what is wrong with the corners of eaves: the eave's place in the list, a code, and the words."""
    ends: dict[str, list[tuple[int, EaveCorner]]] = {}
    for place, eave in enumerate(house.eaves):
        for turn in turns_of(house, eave):
            if turn.corner:
                ends.setdefault(turn.corner, []).append((place, turn.how))
        if eave.length + sum(min(turn.soffit, turn.fascia) for turn in turns_of(house, eave)) <= 0:
            yield place, "eave_too_short", f"eave {eave.id} is no longer than what its inside corners take off it"
    for corner, met in ends.items():
        if len(met) > 2:
            yield met[2][0], "corner_met_thrice", f"{len(met)} eaves meet at corner {corner}; a corner has two"
        elif len(met) == 2 and tuple(sorted(how for _, how in met)) not in _PAIRS:
            how = " and ".join(how for _, how in met)
            yield met[1][0], "corner_disagrees", f"the two eaves at corner {corner} turn it as {how}, which do not fit"


_PAIRS = {
    tuple(sorted(pair))
    for pair in (
        (EaveCorner.NONE, EaveCorner.SQUARE),
        (EaveCorner.MITRED, EaveCorner.MITRED),
        (EaveCorner.INSIDE_MITRED, EaveCorner.INSIDE_MITRED),
        (EaveCorner.INSIDE_SQUARE, EaveCorner.INSIDE_BUTT),
    )
}
