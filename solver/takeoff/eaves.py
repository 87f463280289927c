"""Eaves: soffit panels from the wall's channel to the subfascia, their corners, and the fascia's cover."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from math import ceil

from solver.lengths import TICKS_PER_MM, say
from solver.required import Edge as PanelEdge
from solver.required import End, Meets, Side, Slope
from solver.takeoff import rules
from solver.takeoff.answer import SoffitRow, Trim
from solver.takeoff.ceilings import counted, vented
from solver.takeoff.levels import ceil_div
from solver.takeoff.measured import Eave, EaveCorner, House, Role
from solver.takeoff.settings import Settings
from solver.takeoff.slopes import slope_length
from solver.takeoff.words import Figure, Term, add_up, count_of, decimal

PLAIN = End()
METRE = 1000 * TICKS_PER_MM
EXPANSION = (
    "a European maker: over 1 m a soffit is shorter by its growth at 0.08 mm per m and degree C; "
    "a Canadian maker's figure of 8 mm in 3 m for 55 degrees is 0.0485"
)


def eave_rows(house: House, eave: Eave) -> Iterator[SoffitRow]:
    """Yield the full panels of an eave, then those cut off at 45 degrees at its mitred corners, longest first.

    A panel is shorter than the overhang by ``eave_gap`` in all, here and at the mitres.
    """
    length = eave.length + eave.overhang * _squares(eave)
    count = ceil_div(length, _coverage(house))
    cut = _cut(house, eave.overhang, "wall to subfascia")
    figures = (cut, count_of("soffit panels", count, counted(house, length)), *vented(house, count))
    yield SoffitRow(f"eave {eave.id}", int(cut.value), count, (PLAIN, PLAIN), 1, figures)
    if mitres := [eave.left, eave.right].count(EaveCorner.MITRED):
        for number in range(ceil_div(eave.overhang, _coverage(house))):
            yield _mitred(house, eave, eave.overhang - number * _coverage(house), mitres)


def _squares(eave: Eave) -> int:
    return [eave.left, eave.right].count(EaveCorner.SQUARE)


def _coverage(house: House) -> int:
    return house.coverage or 1


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


def _mitred(house: House, eave: Eave, long: int, quantity: int) -> SoffitRow:
    cut = _cut(house, long, "long edge at the mitre, the other edge shorter by the panel's coverage")
    mitre = End(Meets.PLAIN, Slope(Fraction(1), Side.RIGHT, PanelEdge.BOTTOM))
    return SoffitRow(f"eave {eave.id}, mitred corner", max(1, int(cut.value)), quantity, (mitre, PLAIN), 1, (cut,))


def eave_trim(house: House, eave: Eave) -> Iterator[Trim]:
    """Yield the channel along the wall, the fascia's cover, and two channels back to back along each mitre."""
    along = eave.length + eave.overhang * _squares(eave)
    channel = add_up("soffit channel", [Term(eave.length, "along the wall")], house.unit)
    yield Trim.of(Role.SOFFIT_CHANNEL, f"eave {eave.id}: along the wall", channel)
    mitred = [eave.left, eave.right].count(EaveCorner.MITRED)
    if mitred:
        mitre = slope_length(eave.overhang, eave.overhang, house.unit)
        text = [Term(mitre, f"{say(eave.overhang, house.unit)} x root of 2, rounded up, two back to back")]
        figure = add_up("channel along the mitre", text, house.unit, rules.GEOMETRY)
        yield Trim.of(Role.SOFFIT_CHANNEL, f"eave {eave.id}: mitre", figure, 2 * mitred)
    if eave.fascia:
        terms = [
            Term(eave.length, "along the wall"),
            Term(along - eave.length + eave.overhang * mitred, "round the corners"),
        ]
        cover = add_up("fascia cover", terms, house.unit, rules.NO_SOURCE)
        yield Trim.of(Role.FASCIA, f"eave {eave.id}: fascia", cover)
