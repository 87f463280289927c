"""Soffit under eaves: panels from wall to subfascia, the corners where eaves meet, channel and fascia.

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

from solver.lengths import TICKS_PER_MM, say
from solver.required import Edge as PanelEdge
from solver.required import End, Meets, Side, Slope
from solver.takeoff import rules
from solver.takeoff.answer import Figure, SoffitRow, Term, Trim, add_up, count_of, decimal
from solver.takeoff.ends import slope_length
from solver.takeoff.measured import Eave, EaveCorner, House, LastPanel, Role
from solver.takeoff.rules import Settings
from solver.takeoff.soffits import Laid, counted, coverage_of, laid_out, vented
from solver.takeoff.survey import ceil_div

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
