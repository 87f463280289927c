"""The last step of the grammar: letters whose part is known, put together into pieces."""

from __future__ import annotations

import re
from string import ascii_letters

from solver.reading import reasons
from solver.reading.arithmetic import merge_restated, settle_bracketed, work_out
from solver.reading.clause import Clause, Piece
from solver.reading.doubts import settle
from solver.reading.measure import SHORTEST, Manner, measure
from solver.reading.rules import ruled
from solver.reading.sizes import is_size, set_aside_sizes
from solver.reading.words import MEASURED, spelled

MOST_PIECES = 100_000
"""No line asks for more pieces."""
_SIZED = re.compile("[vl](?=[wmMc])")
_ARITHMETIC = re.compile(r"[lv][(=]|[lvn][-+]|o")
_MANY_WORDS = 7
_STYLES = tuple(re.compile(style) for style in (r",*(?:(?:q,?L|A),*)+", r",*(?:(?:L,?q|A),*)+", r",*L(?:,+L)*,*"))
"""Quantities before lengths, quantities after lengths, lengths alone."""


def pieces(clause: Clause, manner: Manner, above: Piece | None) -> list[Piece]:
    """Return the pieces a line asks for; none where it has no length and no quantity. Raises ``Unclear``.

    ``above`` is the piece that ditto marks repeat.
    """
    if _SIZED.search(clause.letters):
        set_aside_sizes(clause)
    if _ARITHMETIC.search(clause.letters):
        merge_restated(clause, manner)
        work_out(clause, manner)
    if "@-" in clause.letters:
        raise reasons.out_of_range("length", clause.written(clause.letters.index("@-"), len(clause.letters)))
    clause.letters = ruled(clause.letters)
    settle_bracketed(clause, manner)
    settle(clause, manner, above)
    if _SUSPECT.search(clause.letters):
        _refuse_what_is_no_piece(clause)
    if not clause.has("lvLA"):
        if clause.has("q"):
            raise reasons.no_length(_first(clause, "q"))
        return []
    if not clause.has("qA"):
        _refuse_uncounted(clause)
    return _matched(clause, manner)


_SUSPECT = re.compile("[nfPzuro?Ves]")
_SOLD = re.compile(r"[nqs]\.*u")
_VAGUE = re.compile(r"V(?=[wcMmdK,]*@?[lvLA])|^[^qA]*(V)[^qA]*$|s[,.wV-]{0,3}(?=q)")
_HUGE = re.compile("[0-9]{8,}")
_BESIDE_COUNT = re.compile(r"e[@cExXN=/-]|[@xXY=:(-]e")
_DOUBT = re.compile(r"[ro]|[qlvLA]\.*(\?)|(\?)[qlvLA]")
_PLACE = re.compile("h[:-]?[lvL]")
_TOTAL = re.compile(r"[lvL][^,|lvLqn]*@|\([lvL]\)")


def _refuse_what_is_no_piece(clause: Clause) -> None:
    if (sold := _SOLD.search(clause.letters)) and clause.letters.count("w") < _MANY_WORDS:
        raise reasons.sold_by(clause.written(sold.start(), sold.end() - 1))
    if not clause.has("lvLA"):
        return
    if doubt := _DOUBT.search(clause.letters):
        raise reasons.wary(clause.text(doubt.start(doubt.lastindex or 0)))
    if vague := _VAGUE.search(clause.letters):
        raise reasons.vague(clause.text(vague.start(vague.lastindex or 0)))
    _refuse_huge(clause)
    if clause.has("nfPz"):
        raise reasons.unexplained(_first(clause, "nfPz"))


def _refuse_huge(clause: Clause) -> None:
    """A number of eight digits names an account, but not where the quantity stands."""
    for at in clause.all_at("e"):
        beside = _BESIDE_COUNT.search(clause.letters, max(at - 1, 0), at + 2)
        if _HUGE.fullmatch(clause.text(at)) and (beside or not clause.has("qA")):
            raise reasons.out_of_range("quantity", clause.text(at))


_NUMBER_SIGN = re.compile("[#N]n[@xX]")


def _refuse_uncounted(clause: Clause) -> None:
    letters = clause.letters
    if sign := _NUMBER_SIGN.search("".join(token.letter for token in clause.tokens)):
        number = clause.text(sign.start() + 1)
        raise reasons.unclear_quantity(number, (f"{number} pieces", f"1 piece, mark {number}"))
    if uncounted := [clause.text(at) for at in clause.all_at("s") if clause.text(at).lower() != "one"]:
        raise reasons.vague(uncounted[0])
    if "K" in letters:
        number = _first(clause, "K")
        raise reasons.unclear_quantity(number, (f"{number.rstrip(ascii_letters)} pieces", f"mark {number}"))
    measured = any(clause.text(match.start()).lower() in MEASURED for match in _PLACE.finditer(letters))
    sized = any(is_size(clause, at) for at in clause.all_at("l"))
    if measured or sized or _TOTAL.search(letters) or letters.count("w") >= _MANY_WORDS:
        raise reasons.no_quantity(_first(clause, "lvL"))


def _first(clause: Clause, letters: str) -> str:
    return clause.text(clause.all_at(letters)[0])


_CONNECTED = re.compile(r"[x\-t/=]")
_JOINED = re.compile(r"[lvLA][.wMmdekhbBcENQsK#]*[x\-t/=]+[.wMmdekhbBcENQsK#]*[lvLA]")
_SAID = str.maketrans({**dict.fromkeys(".wMmdekhbBcENQsK#V@x-=:/()XYtD?o"), **dict(zip("lv|+", "LL,,", strict=True))})


def _matched(clause: Clause, manner: Manner) -> list[Piece]:
    if _CONNECTED.search(clause.letters) and (joined := _JOINED.search(clause.letters)):
        raise reasons.two_lengths(clause.text(joined.start()), clause.text(joined.end() - 1))
    said = clause.letters.translate(_SAID)
    if not any(style.fullmatch(said) for style in _STYLES):
        raise _mismatch(clause, said)
    quantities, lengths = clause.all_at("qA"), clause.all_at("lvLA")
    pairs = zip(quantities, lengths, strict=True) if quantities else ((at, at) for at in lengths)
    return [_piece(clause, quantity, length, manner) for quantity, length in pairs]


def _mismatch(clause: Clause, said: str) -> reasons.Unclear:
    quantities, lengths = clause.all_at("qA"), clause.all_at("lvLA")
    if len(quantities) > len(lengths):
        return reasons.two_quantities(clause.text(quantities[0]), clause.text(quantities[1]))
    if len(lengths) > 1 and (not quantities or "LL" in said):
        return reasons.two_lengths(clause.text(lengths[0]), clause.text(lengths[1]))
    return reasons.no_quantity(clause.text(lengths[-1]))


def _piece(clause: Clause, quantity: int, length: int, manner: Manner) -> Piece:
    measured = clause.lengths.get(length) or measure(clause.text(length), manner)
    if measured.ticks < (SHORTEST if quantity == length else 1):
        raise reasons.out_of_range("length", clause.text(length))
    return Piece(_quantity(clause, quantity), measured, min(quantity, length), max(quantity, length))


def _quantity(clause: Clause, at: int) -> int:
    if at in clause.counts:
        return clause.counts[at]
    if clause.letters[at] != "q":
        return 1
    written = clause.text(at)
    number = int(written) if written.isdigit() else spelled(written)
    if not 0 < number <= MOST_PIECES:
        raise reasons.out_of_range("quantity", written)
    return number
