"""Numbers whose part on the line is not certain: settled by the rest of the line, by an answer, or asked about."""

from __future__ import annotations

import re
from collections.abc import Iterator
from fractions import Fraction

from solver.cutlist import reasons
from solver.cutlist.measure import Counted, Manner, comma, feet_and_inches, gap, measure, pair
from solver.cutlist.tokens import Clause, Piece, day_and_month
from solver.lengths import Length, Unit, read_value, say, say_feet_and_inches, to_ticks

_DOUBTFUL = re.compile("[ngGpPDhajT]")
_NUMBER = re.compile("[qnlvLA]")
_PART = re.compile("[^,|]+")
_THREE = re.compile(r"n([|,]?)n\1n")
_ALONE = re.compile(r"[.mK(:\-)|,=]*n[.mK(:\-)|,=]*")
_AFTER_QUANTITY = re.compile(r"q\.*(?P<it>n)")
_APART = re.compile(r"q\.*(?P<it>n[nv])(?![@cxX])|(?P<it2>n[nv])(?:[x@](?P<q>n)|\.q)(?![nlvx@cE])")
_PLACE = re.compile(r"h(?P<it>n)")
_FEET = re.compile("'|f", re.IGNORECASE)
_GLUED = re.compile(r"(.*?)([0-9]+)/([0-9]+)(.*)")
_MANY = 500
"""Where three numbers stand in a row, none larger is the quantity."""
_LAST_OF_A_MONTH = 31
"""With a stroke between them, two numbers up to this may be a date."""
_PROSE = 4
"""So many strange words make numbers beside them prose."""
_UNNAMED = str.maketrans(dict.fromkeys("wmMdhcE."))
_SHAPES = {"nn": "n n", "nxn": "n x n", "n|n": "n | n", "n,n": "n | n", "n=n": "n x n", "n:n": "n x n", "n/n": "n / n"}


def settle(clause: Clause, manner: Manner, above: Piece | None) -> None:
    """Give every doubtful number its part. Raises ``Unclear``. ``above`` is what ditto marks repeat."""
    if not _DOUBTFUL.search(clause.letters):
        return
    _parts_of_a_foot(clause)
    _dates(clause)
    _glued(clause, manner)
    _places(clause)
    _several_meanings(clause, manner)
    _dittos(clause, above)
    _bare_numbers(clause, manner)


def _parts_of_a_foot(clause: Clause) -> None:
    """``1/2'`` is six inches or one piece of two feet, ``3 /8"`` part of an inch or three pieces."""
    for at in clause.all_at("a"):
        written = re.sub(r" *([/'\"]) *", r"\1", clause.text(at))
        feet = re.sub(r" *['a-z].*", " ft", written, flags=re.IGNORECASE) if _FEET.search(written) else written
        raise reasons.ambiguous("n/n'", written, (written.replace("/", " of "), feet))


def _dates(clause: Clause) -> None:
    """``9-Jul`` is what a spreadsheet makes of 9-7, or a date: certainly one only in prose without other pieces."""
    for at in clause.all_at("T"):
        if not clause.has("qnlvLAgp") and clause.letters.count("w") > 1:
            clause.put(at, "e")
            continue
        day, month = day_and_month(clause.text(at))
        feet = [feet_and_inches(str(one), str(other)) for one, other in ((day, month), (month, day))]
        readings = dict.fromkeys(say_feet_and_inches(length.ticks) for length in feet if length)
        raise reasons.ambiguous("date", clause.text(at), (*readings, "a date"))


def _glued(clause: Clause, manner: Manner) -> None:
    """``341/2`` is 34 1/2 with the gap lost, where a piece is asked for; else a date or the like."""
    for at in clause.all_at("G"):
        if not clause.has("qnlvLAgp") and clause.text(at)[-1].isdigit() and "'" not in clause.text(at):
            clause.put(at, "e")
            continue
        lengths = [length for part in _cuts(clause.text(at)) if (length := _length(part, manner))]
        if manner.assume.get("nn/n") == "gap" and len(lengths) == 1:
            _take(clause, at, 1, Counted(lengths[0]))
            continue
        if not lengths:
            raise reasons.unexplained(clause.text(at))
        raise reasons.ambiguous("nn/n", clause.text(at), [say(length.ticks, manner.unit) for length in lengths])


def _cuts(written: str) -> Iterator[str]:
    """Yield each way to cut the whole number off the top of a fraction, where what is left is a proper one."""
    if match := _GLUED.fullmatch(written):
        before, over, under, unit = match.groups()
        for cut in range(1, len(over)):
            part = over[cut:]
            if part[0] != "0" and int(part) % 2 and int(part) < int(under):
                yield f"{before}{over[:cut]} {part}/{under}{unit}"


def _length(written: str, manner: Manner) -> Length | None:
    try:
        return measure(written, manner)
    except reasons.Unclear:
        return None


def _places(clause: Clause) -> None:
    """The number of a wall is a name if something else is the quantity, else it may be the quantity."""
    for match in _PLACE.finditer(clause.letters):
        at = match.start("it")
        if "q" in clause.letters:
            clause.put(at, ".")
        elif clause.has("lvgpPj"):
            name = clause.written(match.start(), at)
            raise reasons.unclear_quantity(name, (f"{clause.text(at)} pieces", f"a piece for {name}"))


def _several_meanings(clause: Clause, manner: Manner) -> None:
    for at in clause.all_at("gpPj"):
        written, letter = clause.text(at), clause.letters[at]
        if letter in "gj" and "q" in clause.letters:
            clause.put(at, "l")
        elif letter == "j":
            _take(clause, at, 1, comma(written, manner))
        elif letter == "g":
            _take(clause, at, 1, gap(written, manner))
        elif letter == "p":
            first, second = (part.strip() for part in written.split("-", 1))
            if clause.letters[at + 1 : at + 2] == "c" and clause.has("lvL"):
                raise reasons.several_quantities(written, (f"{first} pieces", f"{second} pieces"))
            _take(clause, at, 1, _dashed(clause, first, second, manner, written))
        else:
            _triple(clause, at, written.split("-"), manner, 1)


def _dashed(clause: Clause, first: str, second: str, manner: Manner, written: str) -> Counted:
    """``9-7`` where something else on the line counts the pieces is feet and inches, or a range."""
    if len(clause.all_at("qA")) < len(clause.all_at("lvLp")):
        return pair("n-n", first, second, manner, written)
    feet = None if manner.unit.metric and manner.assume.get("n-n") != "feet-inches" else feet_and_inches(first, second)
    if feet:
        return Counted(feet)
    lengths = [say(measure(part, manner).ticks, manner.unit) for part in (first, second)]
    raise reasons.ambiguous("n to n", written, lengths)


def _take(clause: Clause, at: int, width: int, counted: Counted) -> None:
    clause.lengths[at] = counted.length
    if counted.quantity is not None:
        clause.counts[at] = counted.quantity
    clause.put(at, ("L" if counted.quantity is None else "A") + "." * (width - 1))


def _dittos(clause: Clause, above: Piece | None) -> None:
    """Ditto marks repeat the quantity, the length, or else the names of the line above."""
    for at in clause.all_at("D"):
        if above is None:
            raise reasons.nothing_above()
        if not clause.has("qA") and not _NUMBER.search(clause.letters, 0, at):
            clause.counts[at] = above.quantity
            clause.put(at, "q")
        elif not clause.has("lvLA"):
            clause.lengths[at] = above.length
            clause.put(at, "L")


def _bare_numbers(clause: Clause, manner: Manner) -> None:
    _apart(clause, manner)
    lengths = clause.all_at("lvLA")
    for match in _AFTER_QUANTITY.finditer(clause.letters):
        clause.put(match.start("it"), "L")
    if not (bare := clause.all_at("n")):
        return
    counted = clause.has("qA")
    if counted != bool(lengths):
        for at in bare:
            clause.put(at, "L" if counted else "q")
        if not counted:
            _short_second(clause, bare, lengths, manner)
    elif not counted:
        _only_bare_numbers(clause, bare, manner)


def _apart(clause: Clause, manner: Manner) -> None:
    """Two numbers beside a quantity: ``4 @ 10 1``, ``10 1 x 4``."""
    for match in _APART.finditer(clause.letters):
        at = match.start("it") if match["it"] else match.start("it2")
        if manner.unit.metric or read_value(clause.text(at + 1)) >= 12:
            continue
        _take(clause, at, 2, pair("n n", clause.text(at), clause.text(at + 1), manner, clause.written(at, at + 1)))
        if match["q"]:
            clause.put(match.start("q"), "q")


def _short_second(clause: Clause, bare: list[int], lengths: list[int], manner: Manner) -> None:
    """Of ``10  1 1/2`` the first may be feet."""
    at, after = bare[0], lengths[0]
    between = clause.letters[at + 1 : after].strip("|,")
    if len(bare) != 1 or len(lengths) != 1 or between or after < at or clause.letters[after] != "v":
        return
    if read_value(clause.text(after)) < 12 and not manner.unit.metric:
        notation = "n n" if after == at + 1 else "n | n"
        found = pair(notation, clause.text(at), clause.text(after), manner, clause.written(at, after))
        _take(clause, at, after - at + 1, found)


def _only_bare_numbers(clause: Clause, bare: list[int], manner: Manner) -> None:
    parts = [(match.start(), match.group()) for match in _PART.finditer(clause.letters) if "n" in match.group()]
    if len(parts) > 1 and all(_shape(letters) in ("nn", "nxn") for _, letters in parts):
        for at, letters in parts:
            _pair_of_numbers(clause, at + letters.index("n"), at + letters.rindex("n"), manner)
        return
    first, last = bare[0], bare[-1]
    shape = clause.letters[first : last + 1]
    if len(bare) == 1:
        _lone(clause, first, manner)
    elif _shape(shape) in _SHAPES and clause.letters.count("w") < _PROSE:
        _pair_of_numbers(clause, first, last, manner)
    elif _THREE.fullmatch(shape):
        _triple(clause, first, [clause.text(at) for at in bare], manner, len(shape))


def _shape(letters: str) -> str:
    return letters.translate(_UNNAMED)


def _pair_of_numbers(clause: Clause, first: int, last: int, manner: Manner) -> None:
    notation = _SHAPES[_shape(clause.letters[first : last + 1])]
    if notation == "n / n" and max(int(clause.text(first)), int(clause.text(last))) <= _LAST_OF_A_MONTH:
        return
    found = pair(notation, clause.text(first), clause.text(last), manner, clause.written(first, last))
    _take(clause, first, last - first + 1, found)


def _lone(clause: Clause, at: int, manner: Manner) -> None:
    """A number alone is one piece of that length, unless it is so short that it may be a quantity or feet."""
    if _ALONE.fullmatch(clause.letters):
        length = measure(clause.text(at), manner)
        if length.ticks < to_ticks(Fraction(12), Unit.IN).ticks:
            raise reasons.unclear_quantity(
                clause.text(at), (f"{clause.text(at)} pieces", f"{clause.text(at)} {manner.unit}")
            )
        clause.put(at, "L")


def _triple(clause: Clause, at: int, parts: list[str], manner: Manner, width: int) -> None:
    """Three numbers: a quantity with feet and inches, at whichever end it stands; with dashes also a date."""
    notation = "n-n-n" if width == 1 else "n | n | n"
    ways = {"quantity-feet-inches": (parts[0], *parts[1:]), "feet-inches-quantity": (parts[2], *parts[:2])}
    counted = {
        answer: Counted(length, int(quantity))
        for answer, (quantity, feet, inches) in ways.items()
        if answer in reasons.ANSWERS[notation] and int(quantity) <= _MANY and (length := feet_and_inches(feet, inches))
    }
    answer = manner.assume.get(notation)
    if answer in counted:
        _take(clause, at, width, counted[answer])
    elif answer == "date" or not counted:
        clause.put(at, "." * width if notation == "n-n-n" else clause.letters[at : at + width])
    else:
        dates = ("a date",) if notation == "n-n-n" else ()
        readings = [f"{way.quantity} of {say_feet_and_inches(way.length.ticks)}" for way in counted.values()]
        raise reasons.ambiguous(notation, clause.written(at, at + width - 1), [*readings, *dates])
