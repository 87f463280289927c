"""What the letters of a line come to: sizes of a profile set aside, certain numbers found, pieces put together.

The rules find a number whose part on the line is certain, the surest first. ``4 5/8 J 9'7"`` and ``6" fascia 12'``
begin with sizes that look like lengths.
"""

from __future__ import annotations

import re
from fractions import Fraction
from functools import lru_cache
from string import ascii_letters

from solver.cutlist import reasons
from solver.cutlist.doubts import settle
from solver.cutlist.measure import (
    SHORTEST,
    Manner,
    check_slips,
    join_metres,
    measure,
    merge_restated,
    settle_bracketed,
    work_out,
)
from solver.cutlist.tokens import Clause, Piece
from solver.cutlist.words import ALL_TOLD, MEASURED, MORE_OR_LESS, TRADE, spelled
from solver.lengths import Unit, read_length, to_ticks

_COUNTED_SIZE = re.compile(r"v(?=[mw].*l)")
_SIZE = re.compile(r"l(?=[wmMc])")
_WIDEST = to_ticks(Fraction(16), Unit.IN).ticks
_POCKETS = ("3/8", "1/2", "5/8", "3/4", "7/8")


def set_aside_sizes(clause: Clause) -> None:
    """Where another length stands on the line, a small one just before a kind of trim is its size."""
    for match in _COUNTED_SIZE.finditer(clause.letters):
        at = match.start()
        quantity, _, pocket = clause.text(at).partition(" ")
        if pocket in _POCKETS and _is_trim(clause, at + 1):
            clause.counts[at] = int(quantity)
            clause.put(at, "q")
    for match in _SIZE.finditer(clause.letters):
        if len(clause.all_at("lvp")) > 1 and is_size(clause, match.start()):
            clause.put(match.start(), "d")


def _is_trim(clause: Clause, at: int) -> bool:
    return clause.letters[at] == "M" or clause.text(at).lower().split("-")[0] in TRADE


def is_size(clause: Clause, at: int) -> bool:
    """Whether a length is no more than the width of a panel, and a kind of trim or panel follows it."""
    if "'" in clause.text(at) or at + 1 == len(clause.tokens) or not _is_trim(clause, at + 1):
        return False
    return at not in clause.lengths and read_length(clause.text(at), Unit.IN).ticks <= _WIDEST


_LABELLED = re.compile("(?:^|(?<=[^e]))(?P<label>b)[:#]?(?P<it>n)[@xXE]")
"""``floor 4 @ 9'7``: the floor's number, or the pieces'; after ``2nd floor`` it can only be the pieces'."""
_LENGTH = "lvgpPjL"
_RULES = tuple(
    (re.compile(pattern), letter)
    for pattern, letter in (
        (r"B[:#=]?(?P<it>[npmwK])", "m"),
        (r"(?P<it>n)[cN]|(?<![nx=/|-])(?P<it2>n)E", "q"),
        (r"b[:#]?(?P<it>[np])(?![@xXE])|N[:#]?(?P<it2>[np])", "."),
        (r"#(?P<it>n)", "m"),
        (r"c(?P<it>p):", "."),
        (r"[Qc][:=](?P<it>n)|Q(?P<it2>n)", "q"),
        (r"(?P<it>n)X|Y(?P<it2>n)", "q"),
        (r"\((?P<it>[nq])\.*\)", "q"),
        (rf"(?P<it>n)k@?(?=[{_LENGTH}])", "q"),
        (r"k[:=]?(?P<it>[nv])", "L"),
        (r"^(?P<keep>[^lvgpPj]*)(?P<it>[nv])k(?=[^lvgpPj]*$)", "L"),
        (r"(?P<it>n)@", "q"),
        (rf"(?P<it>n)[x\-=/](?=[{_LENGTH}D])", "q"),
        (rf"(?P<it>s)(?=[@cExX\-n{_LENGTH}])", "q"),
        (rf"(?<=[{_LENGTH}])[@x\-=:/](?P<it>n)(?![@xX])", "q"),
    )
)


@lru_cache(maxsize=1024)
def ruled(letters: str) -> str:
    """Return a line's letters with those over which a rule writes. Most lines of a list have the letters of another."""
    for pattern, letter in _RULES:
        for match in pattern.finditer(letters):
            letters = letters[: match.start()] + _over(match, letter) + letters[match.end() :]
    return letters


def _over(match: re.Match[str], letter: str) -> str:
    before = match.start(match.lastgroup or 0) - match.start()
    kept = match.groupdict().get("keep") or "." * before
    return kept + letter + "." * (len(match.group()) - before - 1)


MOST_PIECES = 100_000
"""No line asks for more pieces."""
_SIZED = re.compile("[vl](?=[wmMc])")
_PIECE = re.compile("[lvgpPjfaG@xXYcEqs]|(?<![hbBN#])n")
_ARITHMETIC = re.compile(r"[lv][(=]|[lvn][-+]|o")
_MANY_WORDS = 7
_STYLES = tuple(re.compile(style) for style in (r",*(?:(?:q,?L|A),*)+", r",*(?:(?:L,?q|A),*)+", r",*L(?:,+L)*,*"))
"""Quantities before lengths, quantities after lengths, lengths alone."""


def pieces(clause: Clause, manner: Manner, above: Piece | None) -> list[Piece]:
    """Return the pieces a line asks for; none where it has no length and no quantity. Raises ``Unclear``.

    ``above`` is the piece that ditto marks repeat.
    """
    _check_arrow(clause)
    join_metres(clause)
    if _SIZED.search(clause.letters):
        set_aside_sizes(clause)
    if _ARITHMETIC.search(clause.letters):
        merge_restated(clause, manner)
        work_out(clause, manner)
    check_slips(clause, manner)
    if "@-" in clause.letters:
        raise reasons.length_out_of_range(clause.written(clause.letters.index("@-"), len(clause.letters)))
    if labelled := _LABELLED.search(clause.letters):
        at = labelled.start("it")
        readings = (f"{clause.text(at)} pieces", f"a piece for {clause.written(labelled.start('label'), at)}")
        raise reasons.unclear_quantity(clause.text(at), readings)
    clause.letters = ruled(clause.letters)
    settle_bracketed(clause, manner)
    settle(clause, manner, above)
    if _SUSPECT.search(clause.letters):
        _refuse_what_is_no_piece(clause)
    if not clause.has("lvLA"):
        if counted := [at for at in clause.all_at("qs") if clause.letters[at] == "q" or clause.text(at)[0].isdigit()]:
            raise reasons.no_length(clause.text(counted[0]))
        return []
    if not clause.has("qA"):
        _refuse_uncounted(clause)
    return _matched(clause, manner)


def _check_arrow(clause: Clause) -> None:
    """``3 @ 50 -> 4 @ 50``: the second piece instead of the first, or besides it. Raises ``Unclear``."""
    if "R" not in clause.letters:
        return
    before, behind = _PIECE.search(clause.letters), clause.all_at("nvlgpPjfaGs")
    if before and behind and "R" in clause.letters[before.end() : behind[-1]]:
        raise reasons.changed(clause.written(before.start(), len(clause.letters)))
    clause.letters = clause.letters.replace("R", "-")


_THINNEST = SHORTEST * 3 // 4
"""Nobody counts pieces that are shorter, unless an @ and a unit say so: a digit was lost in front."""
_SUSPECT = re.compile("[nfPzuro?Vest+w-]")
_SOLD = re.compile(r"[nqs]\.*u")
_VAGUE = re.compile(r"V(?=[wcMmdK,]*@?[lvLA])|^[^qA]*(V)[^qA]*$|s[,.wV-]{0,3}(?=q)")
_HUGE = re.compile("[0-9]{8,}")
_BESIDE_COUNT = re.compile(r"e[@cExXN=/-]|[@xXY=:(-]e")
_DOUBT = re.compile(r"[ro]|[qlvLA]\.*(\?)|(\?)[qlvLA]")
_SIZE_BEHIND = re.compile("[wM]v")
_RANGE = re.compile(r"n\.*[-t]\.*(?P<many>q)")
_MORE_OR_LESS = re.compile(r"[lvLA]\.*(?:w(?=$|[,|)@xc])|\+(?=$|[wMmd,|)c]|\.q\.[^lvLA]*$)|-$)")
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
    _refuse_more_or_less(clause)
    _refuse_range(clause)
    _refuse_huge(clause)
    if clause.has("nfPz"):
        raise reasons.unexplained(_first(clause, "nfPz"))


def _refuse_more_or_less(clause: Clause) -> None:
    """``9'7 heavy``, ``9'7+``: a little more or less than the length before."""
    for match in _MORE_OR_LESS.finditer(clause.letters):
        at = match.end() - 1
        if clause.letters[at] in "+-" or clause.text(at).lower() in MORE_OR_LESS:
            raise reasons.wary(clause.text(at))


def _refuse_range(clause: Clause) -> None:
    """``4 to 6 @ 10'``: either may be the number of pieces."""
    if found := _RANGE.search(clause.letters):
        few, many = clause.text(found.start()), clause.text(found.start("many"))
        written = clause.written(found.start(), found.start("many"))
        raise reasons.several_quantities(written, (f"{few} pieces", f"{many} pieces"))


def _refuse_huge(clause: Clause) -> None:
    """A number of eight digits names an account, but not where the quantity stands."""
    for at in clause.all_at("e"):
        beside = _BESIDE_COUNT.search(clause.letters, max(at - 1, 0), at + 2)
        if _HUGE.fullmatch(clause.text(at)) and (beside or not clause.has("qA")):
            raise reasons.quantity_out_of_range(clause.text(at))


_AT_ALONE = re.compile(r"^[wt,]{1,3}@\.*[lvL]")
"""``for at ten foot``, as speech is taken down: the number was heard as another word."""
_UP_TO = re.compile("[lvL]t[^lvLqn]*$")
"""``12' to the peak`` measures something and asks for no piece."""
_NUMBER_SIGN = re.compile("[#N]n[@xX]|^[#N]n:?[lv]|[lv]Nn$")


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
    if _AT_ALONE.search(letters) or _UP_TO.search(letters):
        raise reasons.no_quantity(_first(clause, "lvL"))
    measured = any(clause.text(match.start()).lower() in MEASURED for match in _PLACE.finditer(letters))
    sized = any(is_size(clause, at) for at in clause.all_at("lv")) or _size_behind(clause)
    summed = any(token.letter == "w" and token.text.lower() in ALL_TOLD for token in clause.tokens)
    if summed or measured or sized or _TOTAL.search(letters) or letters.count("w") >= _MANY_WORDS:
        raise reasons.no_quantity(_first(clause, "lvL"))


def _size_behind(clause: Clause) -> bool:
    """Whether a line is a name and a number no longer than a panel is wide: ``corner 3 1/2``."""
    return bool(_SIZE_BEHIND.fullmatch(clause.letters)) and read_length(clause.text(1), Unit.IN).ticks <= _WIDEST


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
    written = clause.text(length)
    counted = quantity != length
    clear = not written[-1].isdigit() and any(clause.text(at) == "@" for at in range(quantity + 1, length))
    if measured.ticks < (SHORTEST if not counted else 1 if clear else _THINNEST):
        raise reasons.length_out_of_range(written)
    return Piece(_quantity(clause, quantity), measured, min(quantity, length), max(quantity, length))


def _quantity(clause: Clause, at: int) -> int:
    if at in clause.counts:
        return clause.counts[at]
    if clause.letters[at] != "q":
        return 1
    written = clause.text(at)
    number = int(written) if written.isdigit() else spelled(written)
    if not 0 < number <= MOST_PIECES:
        raise reasons.quantity_out_of_range(written)
    return number
