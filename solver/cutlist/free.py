"""A free line read: pieces by the grammar, then the material, the mark and the ends that go with each.

Ends and room are said in words: ``lap left``, ``both channels``, ``room to 142 7/8``.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace

from solver.cutlist import reasons
from solver.cutlist.beside import is_profile, looks_like_profile, strange_in
from solver.cutlist.findings import PLAIN, Item
from solver.cutlist.grammar import pieces
from solver.cutlist.measure import Manner, measure, spoken
from solver.cutlist.names import Names, is_channel
from solver.cutlist.tokens import Clause, Piece, tokens
from solver.cutlist.whole import Shown, shown
from solver.cutlist.words import FUNCTION, KIND_LETTERS, TRADE
from solver.lengths import Unit, read_length
from solver.required import End, Meets

_WHAT = r"(?<!\b[jfh][-\ ])(?<![\w-])(?P<what{0}>lap|channel|plain)(?:ped|s)?(?![\w-])"
_BETWEEN = re.compile(r"\bbetween\ (?:the\ |two\ |2\ )?(?:j[-\ ])?channels\b", re.IGNORECASE)
_COURSES = ("courses", "crs")
_SIDE = r"(?<![\w-])(?P<side{0}>left|right|both)(?:\ (?:ends?|sides?))?(?![\w-])"
_END = re.compile(
    rf"{_WHAT.format(1)}\ {{1,2}}(?:on\ |at\ )?(?:the\ )?{_SIDE.format(1)}|{_SIDE.format(2)}\ {{1,2}}{_WHAT.format(2)}",
    re.IGNORECASE,
)
_ROOM = re.compile(r",?\s*\broom to (?P<to>[0-9][0-9'\"/. -]*(?:mm\b|cm\b|m\b|in\b|ft\b)?)", re.IGNORECASE)
_EACH = re.compile(
    r"\b(?:each|ea\.?|per|both|either|every)\ +"
    r"(?P<of>sides?|ends?|windows?|doors?|gables?|walls?|corners?|dormers?|rooms?)\b"
    r"|\bl\ ?[&/+]\ ?r\b|\bleft\ ?(?:&|and|/|\+)\ ?right\b",
    re.IGNORECASE,
)
_NUMBER_OF_NAME = re.compile(r"^[1-9][0-9]{0,2}\ |\ [1-9][0-9]{0,2}$")
_POCKETS = ("1/2", "5/8", "3/4")
"""What J-channels are sold with, besides rarer ones (common practice, no source)."""
_TWO = ("side", "sides", "end", "ends")
_NAME = re.compile("[Mmw]")
_BRACKETS = "[]"


@dataclass(frozen=True, slots=True)
class Ends:
    """What the ends meet, and the length up to which room is kept, as written."""

    left: End = PLAIN
    right: End = PLAIN
    room_to: str | None = None


NOTHING_SAID = Ends()


def take_ends(text: str) -> tuple[str, Ends]:
    """Return the text without its words about ends, and what they say; the last word on a side counts."""
    lowered = text.lower()
    if "lap" not in lowered and "channel" not in lowered and "plain" not in lowered and "room to" not in lowered:
        return text, NOTHING_SAID
    sides = {"left": End(), "right": End()}
    for match in _END.finditer(text):
        meets = End(Meets((match["what1"] or match["what2"]).lower()))
        side = (match["side1"] or match["side2"]).lower()
        sides.update({each: meets for each in sides if side in (each, "both")})
    if _BETWEEN.search(text):
        sides = dict.fromkeys(sides, End(Meets.CHANNEL))
    room = _ROOM.search(text)
    rest = _BETWEEN.sub(" ", _ROOM.sub(" ", _END.sub(" ", text)))
    said = Ends(sides["left"], sides["right"], room["to"].strip() if room else None)
    return (text, NOTHING_SAID) if rest == text else (rest, said)


@dataclass(frozen=True, slots=True)
class Above:
    """What ditto marks can repeat: the last piece read and the names it went by."""

    piece: Piece
    material: str | None
    mark: str | None


@dataclass(frozen=True, slots=True)
class FreeLine:
    """The items of a line, its letters once understood, and what a ditto below would repeat."""

    items: tuple[Item, ...]
    letters: str
    above: Above | None
    shows: tuple[Shown, ...] = ()
    sizes: tuple[str, ...] = ()
    """Sizes of profiles as written: ``double 4``, ``3/4`` of a channel."""


def read_free(text: str, manner: Manner, names: Names, above: Above | None) -> FreeLine:
    """Read one line of plain text; no items where it asks for none. Raises ``Unclear``."""
    rest, ends = take_ends(text)
    clause = Clause.of(tokens(names.marked(rest), metric=manner.unit.metric))
    found = pieces(clause, manner, above.piece if above else None)
    if not found:
        return FreeLine((), clause.letters, above)
    if len(found) > 1 and ends is not NOTHING_SAID:
        raise reasons.unclear_ends()
    _check_sides(rest, clause, found, manner.unit)
    names.check(names.marked(rest))
    names.check_colour(names.marked(rest))
    _check_pockets(clause, names)
    _check_fractions(clause, names, manner)
    _check_counted(clause, found, names, manner.unit)
    named = _named(clause, found, manner, names, above)
    _check_each_is_named(clause, found, [material for material, _ in named])
    items = tuple(
        with_ends(in_courses(item(piece, manner, material, mark), clause, piece), ends, manner)
        for piece, (material, mark) in zip(found, named, strict=True)
    )
    sizes = tuple(token.text.strip() for token in clause.tokens if token.letter == "d")
    above = Above(found[-1], *named[-1])
    return FreeLine(items, clause.letters, above, tuple(shown(clause, found, manner.unit)), sizes)


def _check_counted(clause: Clause, found: list[Piece], names: Names, unit: Unit) -> None:
    """Raise ``Unclear`` where nothing counts the pieces unless the number of a material's name does."""
    if clause.has("qA"):
        return
    for at in clause.all_at("M"):
        name, said = names.named(clause.text(at)), spoken(found[0].length.ticks, unit)
        if number := _NUMBER_OF_NAME.search(name):
            count = number.group().strip()
            raise reasons.unclear_quantity(count, (f"{count} of {said}", f"1 of {said}, {name}"))


def _check_sides(text: str, clause: Clause, found: list[Piece], unit: Unit) -> None:
    """Raise ``Unclear`` where the quantity may be that of each side, of each window or of all."""
    if (match := _EACH.search(text)) and not any(token.letter == "o" for token in clause.tokens):
        piece, of = found[0], (match["of"] or "side").lower()
        said = spoken(piece.length.ticks, unit)
        every = f"{2 * piece.quantity} of {said}" if of in _TWO else f"{piece.quantity} for every {of.rstrip('s')}"
        raise reasons.several_quantities(match.group(), (f"{piece.quantity} of {said}", every))


def _check_pockets(clause: Clause, names: Names) -> None:
    """Raise ``Unclear`` where a channel is written with a pocket that none of those given has."""
    for at, token in enumerate(clause.tokens):
        if token.letter == "d" or (token.letter == "v" and at in clause.counts):
            pocket = token.text.split(" ", 1)[1] if token.letter == "v" else token.text
            names.check_pocket(" ".join([pocket.strip(), *(after.text for after in clause.tokens[at + 1 : at + 2])]))


def _check_fractions(clause: Clause, names: Names, manner: Manner) -> None:
    """Raise ``Unclear`` for ``11'10 5/8 J``: the fraction may be of the length, or the channel's pocket."""
    for at in clause.all_at("lvL"):
        whole, _, pocket = clause.text(at).rpartition(" ")
        if whole and "/" in pocket and pocket[-1].isdigit() and at + 1 < len(clause.tokens):
            channel = f"{pocket} {clause.text(at + 1)}"
            named = names.named(clause.text(at + 1)) if clause.letters[at + 1] == "M" else clause.text(at + 1)
            may_be = pocket in _POCKETS and is_channel(named) and manner.assume.get("n/n J") != "length"
            if names.has_pocket(channel) or may_be:
                channel = f"{pocket} {named}"
                unit = manner.unit
                longer, shorter = (spoken(read_length(part, Unit.IN).ticks, unit) for part in (clause.text(at), whole))
                raise reasons.ambiguous("n/n J", clause.text(at), (longer, f"{shorter} of {channel}"))


def _check_each_is_named(clause: Clause, found: list[Piece], materials: list[str | None]) -> None:
    """Raise ``Unclear`` where some pieces of a line have a material beside them and others none."""
    said = next((material for material in materials if material), None)
    if said and None in materials:
        bare = found[materials.index(None)]
        raise reasons.unclear_material(said, clause.written(bare.first, bare.last))


def item(piece: Piece, manner: Manner, material: str | None, mark: str | None) -> Item:
    """Return a piece as an item."""
    ticks = piece.length.ticks
    return Item(piece.quantity, ticks, spoken(ticks, manner.unit), material, mark, exact=piece.length.exact)


def in_courses(read: Item, clause: Clause, piece: Piece) -> Item:
    """Return an item of so many courses, one above the other, where the line counts courses."""
    said = {token.text.lower() for token in clause.tokens[piece.first : piece.last + 2] if token.letter == "c"}
    return read if said.isdisjoint(_COURSES) else replace(read, quantity=1, courses=read.quantity)


def with_ends(read: Item, ends: Ends, manner: Manner) -> Item:
    """Return an item with its ends and its room. Raises ``Unclear`` where the room is less than the length."""
    if ends is NOTHING_SAID:
        return read
    room = measure(ends.room_to, manner).ticks - read.length if ends.room_to else 0
    if room < 0:
        raise reasons.two_lengths(read.text, ends.room_to or "")
    return replace(read, left_end=ends.left, right_end=ends.right, room=room)


def _spans(clause: Clause, found: list[Piece]) -> list[tuple[int, int]]:
    """Return which tokens belong to each piece: all to one; of several, names stand before each or after each."""
    last = len(clause.letters)
    if len(found) == 1:
        return [(0, last)]
    firsts = [_leading_mark(clause, start, piece) for start, piece in zip([0, *(p.last + 1 for p in found)], found)]  # noqa: B905
    if None not in firsts:
        starts = [first for first in firsts if first is not None]
        return list(zip(starts, [*starts[1:], last], strict=True))
    after = _NAME.search(clause.letters, found[-1].last + 1)
    before = _NAME.search(clause.letters, 0, found[0].first)
    inside = all(_NAME.search(clause.letters, piece.first, piece.last) for piece in found)
    if inside or (before and not after):
        return [(start, piece.last) for start, piece in zip([0, *(p.last + 1 for p in found)], found, strict=False)]
    return [(p.last + 1, end) for p, end in zip(found, [*(p.first for p in found[1:]), last], strict=True)]


def _leading_mark(clause: Clause, start: int, piece: Piece) -> int | None:
    """Return where the mark of a piece stands, just before it and nowhere further on; None without one."""
    at = piece.first - 1
    return at if at >= start and clause.letters[at] in "mK" else None


def _named(
    clause: Clause, found: list[Piece], manner: Manner, names: Names, above: Above | None
) -> list[tuple[str | None, str | None]]:
    """Return the material and the mark of each piece. Raises ``Unclear`` where a word may be of either, or of none."""
    spans = _spans(clause, found)
    materials = [_material_within(clause, span, names, above) for span in spans]
    strange = strange_in(clause, names, frozenset().union(*(used for _, used in materials)))
    answer = manner.assume.get("beside")
    if strange and answer is None:
        raise reasons.unclear_beside(" ".join(map(clause.text, strange)))
    _check_profiles(clause, manner, names, strange)
    if answer != "material":
        strange = []
    if apart := [at for at in strange if not any(at in range(*span) for span in spans)]:
        raise reasons.unclear_material(clause.text(apart[0]), clause.written(found[0].first, found[0].last))
    named = []
    for span, (material, used) in zip(spans, materials, strict=True):
        own = [at for at in range(*span) if at in strange or (at not in used and _is_own_profile(clause, at, manner))]
        words = [*([material] if material else []), *map(clause.text, own)]
        free = [at for at in range(*span) if at not in used and at not in own]
        repeats = above is not None and any(clause.letters[at] == "D" for at in range(*span))
        mark = (None if above.material else above.mark) if above and repeats else _mark(clause, free)
        named.append((" ".join(words) or None, mark))
    return named


def _check_profiles(clause: Clause, manner: Manner, names: Names, strange: list[int]) -> None:
    """Raise ``Unclear`` for a mark that may be the profile of a panel: ``6 @ 9'7 D5``."""
    for at in clause.all_at("m"):
        written = clause.text(at)
        lone = looks_like_profile(written) and at not in strange and not is_profile(clause, at)
        if lone and manner.assume.get("D4") is None and not names.knows(written):
            raise reasons.unclear_profile(written)


def _is_own_profile(clause: Clause, at: int, manner: Manner) -> bool:
    return clause.letters[at] == "m" and manner.assume.get("D4") == "material" and looks_like_profile(clause.text(at))


def _material_within(
    clause: Clause, span: tuple[int, int], names: Names, above: Above | None
) -> tuple[str | None, frozenset[int]]:
    """Return the material named within a span, and where the words stand that name it."""
    within = range(*span)
    if above and any(clause.letters[at] == "D" for at in within):
        return above.material, frozenset()
    lettered = [at for at in within if _letters_a_piece(clause, at, above)]
    material, used = _material(clause, [at for at in within if at not in lettered], names)
    if above and any(token.letter == "D" for token in clause.tokens):
        material = material or above.material
    return material, used


def _letters_a_piece(clause: Clause, at: int, above: Above | None) -> bool:
    """Whether a letter that could name a channel marks a piece: ``J:``, or J after the mark H or I."""
    if clause.letters[at] != "m" or len(clause.text(at)) != 1:
        return False
    before = above.mark if above and above.mark and len(above.mark) == 1 else None
    return clause.letters[at + 1 : at + 2] in (":", "=") or (
        before is not None and 1 <= ord(clause.text(at)) - ord(before) <= 2
    )


def _material(clause: Clause, within: Sequence[int], names: Names) -> tuple[str | None, frozenset[int]]:
    named = list(dict.fromkeys(names.named(clause.tokens[at].text) for at in within if clause.tokens[at].letter == "M"))
    if len(named) > 1:
        raise reasons.two_materials(*named[:2])
    if named:
        return named[0], frozenset()
    words = [at for at in within if _describes(clause, at)]
    if not words:
        return None, frozenset()
    known = names.by_words(" ".join(clause.text(at) for at in words))
    if known:
        return known, frozenset(at for at in words if names.has_word(known, clause.text(at)))
    kind = names.in_own_words([clause.text(at) for at in words])
    return kind, frozenset(words if kind else ())


def _describes(clause: Clause, at: int) -> bool:
    letter, word = clause.tokens[at].letter, clause.text(at).lower()
    if letter in "mKz":
        return word in KIND_LETTERS or is_profile(clause, at)
    return (letter in "wd" and word not in FUNCTION) or (letter in "cEs" and word in TRADE)


def _is_the_writer(clause: Clause, at: int) -> bool:
    return clause.text(at) == "I" and clause.letters[at + 1 : at + 2] in ("w", "r")


def _mark(clause: Clause, free: list[int]) -> str | None:
    for letters in ("m", "K"):
        for at in free:
            if clause.letters[at] in letters and not _is_the_writer(clause, at):
                return clause.text(at).strip(_BRACKETS)
    return None
