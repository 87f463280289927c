"""What a house needs besides panels and trim: wrap, tape, flashing, nails, blocks, vents, coil, furring.

Each need is a quantity with its arithmetic in words and its source. Nothing of it is cut by the plan: where a product
is named for it, so many packs are bought, else it is named on the order as not ordered.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from decimal import Decimal
from fractions import Fraction
from math import ceil

from solver.job import Good
from solver.lengths import Unit, say, told
from solver.required import Keeps
from solver.takeoff import rules
from solver.takeoff.answer import (
    Figure,
    Needed,
    RunOnWall,
    SoffitRow,
    Trim,
    WallTakeOff,
    decimal,
    say_area,
    square_feet,
)
from solver.takeoff.geometry import twice_area
from solver.takeoff.goods import Need, SoldAs
from solver.takeoff.measured import House, Opening, OpeningKind, Role, Wall
from solver.takeoff.rules import SQUARE_METRES
from solver.takeoff.survey import ceil_div

FLASHED = "flashing at sills, sides and heads: Fine Homebuilding, Vinyl siding done right; its laps " + rules.NO_SOURCE
NAIL_WEIGHT = (
    "a steel nail of {1 3/4 in} with a shank of {0.12 in} (International Residential Code, R703.11.1) and a head of "
    "{5/16 in}: geometry; a lumber yard's catalogue reckons by area instead, "
)
BY_AREA = {False: "0.01 lb to a square foot", True: "0.05 kg to a square metre"}


def needs(
    house: House, walls: Sequence[WallTakeOff], trim: Sequence[Trim], figures: Iterable[Figure]
) -> Iterator[Needed]:
    """Yield everything that the house needs besides what is cut, but for what was switched off."""
    found = (
        *_wraps(house),
        *_flashings(house, trim),
        *_nails(house, figures),
        *_fixtures(house),
        *_coils(house, trim),
        *_furring(house, walls),
        *_strapping(house),
    )
    return (_bought(house, need) for need in found if need.need not in house.without and need.quantity > 0)


def _bought(house: House, found: Needed) -> Needed:
    product = next((product for product in house.goods if product.need is found.need), None)
    if product is None:
        return found
    packs = ceil(found.quantity / product.holds)
    each = f"{decimal(found.quantity)} / {decimal(product.holds)} {found.unit} in each = {packs}"
    text = f"{found.text}; {each}"
    return Needed(found.need, found.quantity, found.unit, text, found.source, product.id, packs)


def _length(house: House, need: Need, ticks: int | Fraction, text: str, source: str) -> Needed:
    unit = Unit.M if house.unit.metric else Unit.FT
    quantity = Fraction(ceil(Fraction(ticks) / unit.ticks * 10), 10)
    return Needed(need, quantity, unit, f"{text} = {decimal(quantity)} {unit}", source)


def _wraps(house: House) -> Iterator[Needed]:
    area = sum((square_feet(Fraction(abs(twice_area(wall.outline)), 2)) for wall in house.walls), Fraction(0))
    percent = house.settings.wrap_percent
    total = area * (1 + percent / 100)
    words = f"{say_area(area, house.unit)} of walls, openings not taken off, and {decimal(percent)} % for laps"
    unit, quantity = ("m2", total * SQUARE_METRES) if house.unit.metric else ("sq ft", total)
    text = f"{words} = {say_area(total, house.unit)}"
    yield Needed(Need.HOUSE_WRAP, quantity, unit, text, rules.WRAP_PERCENT.source)
    seams = [_seams(house, wall) for wall in house.walls]
    each = " + ".join(text for _, text in seams)
    yield _length(house, Need.WRAP_TAPE, sum(length for length, _ in seams), each, rules.WRAP_LAP.source)


def _seams(house: House, wall: Wall) -> tuple[int, str]:
    """A wall's level seams between rows of wrap, and the upright one where a roll ends."""
    width, height = _across(wall), _up(wall)
    lap = rules.WRAP_LAP.in_job(house.unit)
    rows = max(1, ceil_div(height - lap, house.settings.wrap_width - lap))
    length = (rows - 1) * width + height
    level = f"{rows - 1} x {say(width, house.unit)} and " if rows > 1 else ""
    return length, f"{wall.id} {level}an upright seam of {say(height, house.unit)}"


def _across(wall: Wall) -> int:
    return max(point.x for point in wall.outline) - min(point.x for point in wall.outline)


def _up(wall: Wall) -> int:
    return max(point.y for point in wall.outline) - min(point.y for point in wall.outline)


def _framed(house: House) -> list[tuple[Wall, Opening]]:
    return [(wall, o) for wall in house.walls for o in wall.openings if o.kind is not OpeningKind.FIXTURE]


def _flashings(house: House, trim: Sequence[Trim]) -> Iterator[Needed]:
    turn, unit = rules.FLASHING_TURN.in_job(house.unit), house.unit
    openings = [opening for _, opening in _framed(house)]
    wide, high = sum(o.width for o in openings), sum(o.height for o in openings)
    words = (
        f"sills and heads 2 x {say(wide, unit)}, sides 2 x {say(high, unit)}, and {say(turn, unit)} more at each end "
        f"of {2 * len(openings)} sills and heads"
    )
    length = 2 * (wide + high) + 4 * len(openings) * turn
    yield _length(house, Need.FLASHING, length, words, FLASHED)
    posts = [piece for piece in trim if piece.role in (Role.OUTSIDE_POST, Role.INSIDE_POST)]
    strip = 2 * rules.CORNER_FLASHING.in_job(unit)
    length = sum(piece.length * piece.quantity for piece in posts)
    corners = f"{len(posts)} corner{'s' * (len(posts) != 1)}"
    words = f"{corners}, {say(length, unit)} of posts, a strip {say(strip, unit)} wide behind each"
    yield _length(house, Need.CORNER_FLASHING, length, words, rules.CORNER_FLASHING.source)


def _nails(house: House, figures: Iterable[Figure]) -> Iterator[Needed]:
    counted = {figure.name: int(figure.value) for figure in figures if figure.name.startswith("nails for ")}
    total, to_one = sum(counted.values()), house.settings.nails_to_weight
    unit = "kg" if house.unit.metric else "lb"
    quantity = Fraction(ceil(Fraction(total * 10, to_one)), 10)
    parts = " + ".join(f"{count} {name.removeprefix('nails ')}" for name, count in counted.items() if count)
    text = f"{parts} = {total} nails / {to_one} to the {unit} = {decimal(quantity)} {unit}"
    yield Needed(Need.NAILS, quantity, unit, text, told(NAIL_WEIGHT, house.unit) + BY_AREA[house.unit.metric])


def _fixtures(house: House) -> Iterator[Needed]:
    for sold, need in ((SoldAs.BLOCK, Need.MOUNTING_BLOCKS), (SoldAs.VENT, Need.VENTS)):
        named = [(wall, o) for wall in house.walls for o in wall.openings if o.sold_as is sold]
        fixtures = [(wall, o) for wall, o in named if o.kind is OpeningKind.FIXTURE]
        sizes = (f"{w.id} {o.id}, {say(o.width, house.unit)} x {say(o.height, house.unit)}" for w, o in fixtures)
        text = f"one each: {'; '.join(sizes)} = {len(fixtures)}"
        yield Needed(need, Fraction(len(fixtures)), "pieces", text, "as measured")


def _coils(house: House, trim: Sequence[Trim]) -> Iterator[Needed]:
    """Coil that is bent to cover fascia, unless a fascia is bought, and the casings of openings."""
    settings = house.settings
    fascia = sum(piece.length * piece.quantity for piece in trim if piece.role is Role.FASCIA)
    if house.material_for(Role.FASCIA) is None:
        yield _coil(house, Need.FASCIA_COIL, fascia, "of fascia", settings.fascia_girth, rules.FASCIA_GIRTH.source)
    round_openings = [o for _, o in _framed(house) if o.wrapped]
    length = sum(_casing(opening) for opening in round_openings)
    words = f"round {len(round_openings)} openings (a door has no sill)"
    yield _coil(house, Need.CASING_COIL, length, words, settings.casing_girth, rules.CASING_GIRTH.source)


def _casing(opening: Opening) -> int:
    sill = 0 if opening.kind is OpeningKind.DOOR else opening.width
    return opening.width + 2 * opening.height + sill


def _coil(house: House, need: Need, length: int, what: str, girth: int, source: str) -> Needed:
    unit, wide = house.unit, house.settings.coil_width
    strips = max(1, wide // girth)
    words = (
        f"{say(length, unit)} {what}, a strip of {say(girth, unit)}: {strips} out of a coil of {say(wide, unit)}; "
        f"{say(length, unit)} / {strips}"
    )
    return _length(house, need, Fraction(length, strips), words, source)


def _furring(house: House, walls: Sequence[WallTakeOff]) -> Iterator[Needed]:
    """Strips behind utility trim where so much is cut off that the panel would lose its slope."""
    places = [place for taken in walls for course in taken.courses for run in course.runs
              for place in _furred(house.for_wall(taken.wall), taken.wall.id, course.band.number, run)]  # fmt: skip
    length = sum(length for _, length in places)
    text = " + ".join(f"{place} {say(length, house.unit)}" for place, length in places)
    yield _length(house, Need.FURRING, length, text, rules.FURRING_FROM.source)


def _furred(house: House, wall: str, course: int, run: RunOnWall) -> Iterator[tuple[str, int]]:
    limit, panel = rules.FURRING_FROM.in_job(house.unit), house.material_for(Role.PANEL)
    if panel and panel.category.kind.is_backed:
        return
    for noted in run.cut_outs:
        if any("furring" in note for note in noted.notes):
            yield f"{wall}, {noted.opening}", noted.cut_out.end - noted.cut_out.start
    for rip in run.rips:
        cut_off = house.exposure - min(rip.left, rip.right)
        if cut_off > limit or rip.keeps is Keeps.HEM:
            yield f"{wall}, course {course}", run.cut


def _strapping(house: House) -> Iterator[Needed]:
    spacing, unit = house.settings.strapping, house.unit
    if spacing is None:
        return
    lines = [(wall, ceil_div(_across(wall), spacing) + 1) for wall in house.walls]
    lengths = [Fraction(abs(twice_area(wall.outline)) * count, 2 * _across(wall)) for wall, count in lines]
    words = " + ".join(
        f"{wall.id} {count} of {say(round(length / count / unit.ticks * 10) * unit.ticks // 10, unit)}"
        for (wall, count), length in zip(lines, lengths, strict=True)
    )
    yield _length(house, Need.STRAPPING, sum(lengths), f"{words} in the mean", rules.NO_SOURCE)


def goods(house: House, found: Sequence[Needed], soffits: Sequence[SoffitRow], trim: Sequence[Trim]) -> Iterator[Good]:
    """Yield what stands on the order beside what is cut: needs with their product, and all that has none."""
    for need in found:
        name = need.need.replace("_", " ")
        if need.packs:
            name = f"{name}, {decimal(need.quantity)} {need.unit}"
            yield Good(name, Decimal(need.packs), "packs", need.product)
        else:
            yield Good(name, _decimal(need.quantity), need.unit)
    unit = Unit.M if house.unit.metric else Unit.FT
    for role, lengths in _without_material(house, soffits, trim).items():
        covered = role is Role.FASCIA and Need.FASCIA_COIL in {need.need for need in found}
        if not covered:
            length = Fraction(ceil(Fraction(sum(lengths), unit.ticks) * 10), 10)
            yield Good(role.words, _decimal(length), unit)


def _decimal(quantity: Fraction) -> Decimal:
    return Decimal(decimal(quantity))


def _without_material(house: House, soffits: Sequence[SoffitRow], trim: Sequence[Trim]) -> dict[Role, list[int]]:
    lengths: dict[Role, list[int]] = {}
    for row in soffits:
        lengths.setdefault(Role.SOFFIT, []).append(row.span * row.quantity)
    for piece in trim:
        if piece.material is None:
            lengths.setdefault(piece.role, []).append(piece.length * piece.quantity)
    return {role: found for role, found in lengths.items() if house.material_for(role) is None}
