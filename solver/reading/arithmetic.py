"""Lengths a line works out: one length in two units, and ``less 1/2``."""

from __future__ import annotations

import re
from fractions import Fraction

from solver.lengths import AGREE, Length, Unit, read_length, say, to_ticks
from solver.reading import reasons
from solver.reading.clause import Clause
from solver.reading.measure import Manner, measure

_RESTATED = re.compile(r"([lv])(?:\(([lv])\)|=([lv]))")
_BRACKETED = re.compile(r"[lv]\.q\.")
_OPERATOR = re.compile(r"([lvn])([o+])([lvfn])")
_SLIP = re.compile(r"([lvn])-([fl])")
_LOOSE = re.compile(r"[lv]\+(n)(?![@cExXN(lvgpk-])|^[^lvnpg]*o[^lvnpg]*(?:([fvl])|(n)(?![@cExXN(lvgpk-]))")
_MOREOVER = re.compile("^o(?=[nq(])")
_LARGEST_ALLOWANCE = to_ticks(Fraction(6), Unit.IN).ticks
_EACH_END = re.compile(r"(?:(?:at|on|from|off) )?(?:each|ea|per|both)\.? (?:ends?|sides?)")


def merge_restated(clause: Clause, manner: Manner) -> None:
    """A length given in two units counts once; two that disagree are a question."""
    for match in _RESTATED.finditer(clause.letters):
        first, second = match.start(1), match.start(match.lastindex or 2)
        if not _agree(clause, first, second, manner):
            readings = (clause.text(first), clause.text(second))
            raise reasons.ambiguous("n (n)", f"{readings[0]} ({readings[1]})", readings)
        clause.put(first, "l" + "." * (match.end() - first - 1))


def settle_bracketed(clause: Clause, manner: Manner) -> None:
    """A quantity in brackets that is the length once more counts nothing where another does: ``4 @ 9'7" (115)``."""
    for match in _BRACKETED.finditer(clause.letters):
        first, second = match.start(), match.start() + 2
        if clause.tokens[second - 1].letter != "(" or not _agree(clause, first, second, manner):
            continue
        if clause.letters.count("q") == 1:
            said, length = clause.text(second), clause.text(first)
            raise reasons.unclear_quantity(said, (f"{said} of {length}", f"1 of {length}"))
        clause.put(second, ".")


def _agree(clause: Clause, first: int, second: int, manner: Manner) -> bool:
    one, two = (measure(clause.text(at), manner) for at in (first, second))
    return abs(one.ticks - two.ticks) <= AGREE


def work_out(clause: Clause, manner: Manner) -> None:
    """Work out ``less 1/2`` and ``plus 1``; a dash before a fraction may be a minus or a slip of the pen."""
    if _MOREOVER.match(clause.letters):
        clause.put(0, ",")
    for match in _OPERATOR.finditer(clause.letters):
        _operate(clause, match.start(), manner)
    for slip in _SLIP.finditer(clause.letters):
        _refuse_slip(clause, slip.start(), manner)
    if loose := _LOOSE.search(clause.letters):
        raise reasons.loose(clause.text(loose.start(loose.lastindex or 0)))


def _operate(clause: Clause, at: int, manner: Manner) -> None:
    base, by = measure(clause.text(at), manner), _allowance(clause, at + 2, manner)
    if clause.text(at + 1) == "+" and (clause.letters[at + 2] == "n" or by.ticks > _LARGEST_ALLOWANCE):
        return
    times = 2 if _EACH_END.match(clause.written(at + 3, at + 5).lower()) else 1
    sign = 1 if clause.text(at + 1).lower() in ("+", "plus") else -1
    clause.lengths[at] = Length(base.ticks + sign * times * by.ticks, base.exact and by.exact)
    clause.put(at, "l..")


def _allowance(clause: Clause, at: int, manner: Manner) -> Length:
    if clause.letters[at] == "f":
        return read_length(clause.text(at), Unit.IN)
    return measure(clause.text(at), manner)


def _refuse_slip(clause: Clause, at: int, manner: Manner) -> None:
    base, by = measure(clause.text(at), manner).ticks, _allowance(clause, at + 2, manner).ticks
    if by <= _LARGEST_ALLOWANCE < base:
        readings = [say(base + by, manner.unit), say(base - by, manner.unit)]
        raise reasons.ambiguous("n - f", clause.written(at, at + 2), readings)
