"""A list read line by line: headings and tables hold for the lines below, ditto marks reach to the line above."""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace
from decimal import Decimal

from solver.cutlist import reasons
from solver.cutlist.beside import alters, strange_words
from solver.cutlist.findings import Item, Line, LineKind
from solver.cutlist.free import Above, FreeLine, read_free
from solver.cutlist.lines import (
    begins_sheet,
    heading,
    is_envelope,
    is_sentence,
    names_a_wall,
    never_pieces,
    perhaps_material,
    plain,
    split_number,
    take_mark,
    wall_of,
)
from solver.cutlist.measure import Manner
from solver.cutlist.names import Names, adds_nothing, in_words
from solver.cutlist.tables import DITTO, Column, Header, Row, cells, has_titles, header, is_quoted, is_tally, row
from solver.cutlist.whole import Shown
from solver.cutlist.words import CHANGES, TRADE, in_figures
from solver.lengths import LengthError

LONGEST_LINE = 2000
"""Characters: a longer line is prose, or no text at all."""
_FEW_WORDS = 3
_WORDS = re.compile(r"[\w'/-]+")
_PIECES_AFTER_ALL = re.compile(r"[0-9]\ ?(?:@|x|pcs|pieces)\ ?[0-9]", re.IGNORECASE)
_PRICED = re.compile(
    r"(?P<said>.{4,}?)\s+(?:@\s*)?\$?(?P<each>[0-9]{1,5}\.[0-9]{2})\s+\$?(?P<amount>[0-9]{1,3}(?:,?[0-9]{3})?\.[0-9]{2})\s*"
)
_DOUBT = re.compile(
    r"\?\s*$|\b(?:or|up to|in half|same (?:in|on|for|at)|double (?:that|it|up|on|the))\b", re.IGNORECASE
)
_NO_PROSE = re.compile("[nv]x|x[nv]|n@n")
_OPENING = re.compile(r"\b(?:win|windows?|doors?|openings?)\b", re.IGNORECASE)
_CHANNEL = re.compile(r"\b[JFH]\b")
"""What pieces are cut around, and what they are: numbers beside either are no prose, nor are both together."""
_SIDING = re.compile(r"\bsiding\b", re.IGNORECASE)
_LENGTH_IN_WORDS = re.compile(r"\b(?:foot|feet|inch|inches|ft)\b", re.IGNORECASE)


@dataclass(slots=True)
class Reader:
    """Reads lines in order; what a heading, a header or the line above said is kept between them."""

    manner: Manner
    names: Names
    material: str | None = None
    heading: str = ""
    """What the heading says that ``material`` is from."""
    table: Header | None = None
    above: Above | None = None
    doubted: Line | None = None
    asked: dict[int, Line] = field(default_factory=dict)
    """Lines of words, by number, that may be the material of pieces below them."""
    wall: str | None = None
    """The wall that a line above names; courses are on it until another is named."""
    shows: set[Shown] = field(default_factory=set)
    """How lines that were read are written."""
    alone: set[int] = field(default_factory=set)
    """Lines of one length and nothing else."""
    counted: int = 0
    """How many lines say how many."""
    wanted: dict[tuple[str, str], frozenset[str]] = field(default_factory=dict)
    """In which colour, and in which size, the list wants each given material whose name says none."""

    def read(self, number: int, raw: str, *, numbered: bool) -> Line:
        """Return one line as read; ``numbered`` says that its leading number is a line number. Never raises."""
        if begins_sheet(raw):
            self.material = self.table = self.above = self.doubted = self.wall = None
            return Line(number, LineKind.HEADING, raw)
        unmarked, mark = take_mark(raw) if "[" in raw else (raw, None)
        text = plain(unmarked)
        if not text.strip() and not mark:
            return Line(number, LineKind.BLANK, raw)
        try:
            read = self._read(text, mark, numbered=numbered)
            for unclear in filter(None, map(reasons.unsendable, read.items)):
                raise unclear
            kind = LineKind.ITEM if read.items else self._kind(number, raw, read.letters)
        except reasons.Unclear as unclear:
            return self._refused(number, raw, unclear)
        except LengthError as error:
            return self._refused(number, raw, reasons.no_such_length(error, text.strip()))
        self._note(number, read)
        read = replace(read, items=tuple(self._on_wall(item, number, text) for item in read.items))
        return Line(number, kind, raw, read.items)

    def _on_wall(self, item: Item, number: int, text: str) -> Item:
        """Courses lie on the wall that their line names, or one above it; else on one of their own."""
        if item.courses == 1:
            return item
        return replace(item, wall=wall_of(text) or self.wall or f"line {number}")

    def _note(self, number: int, read: FreeLine) -> None:
        """Keep what a line says of the others."""
        self.shows.update(read.shows)
        self.counted += "q" in read.letters or "A" in read.letters
        if read.items and read.letters.strip(".") in ("l", "v", "L"):
            self.alone.add(number)

    def _refused(self, number: int, raw: str, unclear: reasons.Unclear) -> Line:
        """Ditto marks below would repeat what was not read."""
        self.above = None
        return Line(number, LineKind.ITEM, raw, problem=unclear.problem)

    def _read(self, text: str, mark: str | None, *, numbered: bool) -> FreeLine:
        tally = self.table is not None and is_tally(text, self.table)
        if text[:1].isalpha() and never_pieces(text) and _PIECES_AFTER_ALL.search(text) and not tally:
            raise reasons.wary(text.split(maxsplit=1)[0])
        if tally or never_pieces(text) or self._names_a_material(text):
            return FreeLine((), "", None)
        if len(text) > LONGEST_LINE:
            raise reasons.too_long(len(text))
        text = in_figures(text)
        if self.table and (found := row(text, self.table, self.manner.assume.get("n)"))):
            return self._row(found, mark)
        split = split_number(text)
        if numbered and split:
            text, split = split[1], None
        if split:
            return self._perhaps_numbered(*split, mark)
        return self._free(text, mark)

    def _names_a_material(self, text: str) -> bool:
        name = self.names.exactly(text.strip().removesuffix(":"))
        return name is not None and (text.rstrip().endswith(":") or any(map(str.isalpha, name)))

    def _row(self, found: Row, mark: str | None) -> FreeLine:
        assert self.table is not None
        read = read_free(found.said, self.table.manner(self.manner), self.names, self.above)
        repeats = self.above and (found.material or found.description).lower() in DITTO
        written = (self.above.material or "") if self.above and repeats else found.material
        named = self._of_cells(found, written)
        self.above = replace(read.above, material=named) if read.above and named else read.above
        self._check_one_colour(read, f"{found.material} {found.description}", named or None)
        return self._finished(read, mark or found.mark or self._noted(found, named) or None, named or None)

    def _of_cells(self, found: Row, written: str) -> str:
        """Return the material that a row names, "" for none. Raises ``Unclear`` where a cell may name another."""
        if word := alters(found.note):
            raise reasons.wary(word)
        if written:
            named = self._known(written)
            named = self._with_strange(written, named) if named else written
        else:
            named = self._described(found.description) or ""
        if found.description and not (named and not written and named == found.description):
            named = self._with_strange(found.description, named)
        return self._with_strange(found.note, named, telling=True)

    def _with_strange(self, written: str, named: str, *, telling: bool = False) -> str:
        """Return the material, with the words of a cell that have no part, where these were answered to be one."""
        strange = strange_words(written, self.names, named or None, telling=telling)
        if strange and (answer := self.manner.assume.get("beside")) != "remark":
            if answer is None:
                raise reasons.unclear_beside(strange)
            return " ".join(f"{named} {strange}".split())
        return named

    def _known(self, written: str) -> str | None:
        """Return the given material that a cell names; a cell with a colour names none that says no colour."""
        if name := self.names.exactly(written):
            return name
        if self.names.tells_no_colour(written):
            return None
        self.names.check(written)
        return self.names.by_words(written)

    def _described(self, written: str) -> str | None:
        """A description names a material that was given, or a kind or a colour in words; else it is a note."""
        words = _WORDS.findall(written)
        traded = not self.names.given and not TRADE.isdisjoint(map(str.lower, words))
        return self._known(written) or (written if traded or self.names.in_own_words(words) else None)

    def _noted(self, found: Row, named: str | None) -> str | None:
        """Where no column is for marks, a description of one word that names no material is the mark."""
        assert self.table is not None
        one = (
            len(found.description.split()) == 1
            and not found.description.isdigit()
            and found.description.lower() not in DITTO
            and Column.MARK not in self.table.columns
        )
        return found.description if one and (found.material or not named) else None

    def _free(self, text: str, mark: str | None) -> FreeLine:
        for separator in (",", ";"):
            if separator in text and is_quoted(text, separator):
                text = " | ".join(cells(text, separator))
        manner = self.table.manner(self.manner) if self.table else self.manner
        text = self._without_price(text, manner)
        read = read_free(text, manner, self.names, self.above)
        if read.items and is_envelope(text):
            raise reasons.wary(text.split(":")[0])
        if read.items and (doubt := _DOUBT.search(text)):
            raise reasons.wary(doubt.group().strip())
        if not read.items:
            self._check_nothing_is_lost(text, read.letters)
        elif mark and mark.isdigit() and not re.search("[qA]", read.letters):
            raise reasons.unclear_quantity(mark, (f"{mark} of {read.items[0].text}", f"mark {mark}"))
        self.above = read.above
        self._check_one_colour(read, text, None)
        return self._finished(read, mark, self._siding_after_all(read, text))

    def _siding_after_all(self, read: FreeLine, text: str) -> str | None:
        """Siding below a heading of soffit or trim is none of that."""
        found = _SIDING.search(text)
        if not found or not self.material or _SIDING.search(self.material) or any(i.material for i in read.items):
            return None
        return found.group() if in_words(self.material.split()) else None

    def _check_one_colour(self, read: FreeLine, text: str, material: str | None) -> None:
        """Raise ``Unclear`` where a material whose name says no colour is wanted in two."""
        for name in {named for item in read.items if (named := material or item.material)}:
            self._check_colour(name, text, several=len(read.items) > 1)

        for name in {material or item.material or self.material or self._only() for item in read.items}:
            self._check_same("size", name, self.names.sizes_beside(name, read.sizes))

    def _only(self) -> str:
        """Return the material of lines that name none."""
        return self.names.given[0] if len(self.names.given) == 1 else ""

    def _check_colour(self, name: str, text: str, *, several: bool = False) -> None:
        said = self.names.colours_beside(name, text)
        if several and len(said) > 1:
            raise reasons.unknown_material(" ".join(sorted(said)), name)
        self._check_same("colour", name, said)

    def _check_same(self, what: str, name: str, said: frozenset[str]) -> None:
        if said and self.wanted.setdefault((what, name), said) != said:
            raise reasons.unknown_material(" ".join(sorted(said)), name)

    def _without_price(self, text: str, manner: Manner) -> str:
        """Return a line without the price and the amount behind it, where the pieces at that price come to that."""
        match = _PRICED.fullmatch(text) if text.count(".") > 1 else None
        if match is None:
            return text
        try:
            items = read_free(match["said"], manner, self.names, self.above).items
        except reasons.Unclear:
            return text
        amount = Decimal(match["amount"].replace(",", ""))
        return match["said"] if [item.quantity * Decimal(match["each"]) for item in items] == [amount] else text

    def _check_nothing_is_lost(self, text: str, letters: str) -> None:
        """Numbers beside few words are no prose: somebody meant pieces."""
        if is_envelope(text) or names_a_wall(text):
            return
        numbers, words = sum(map(letters.count, "nfvK")), letters.count("w")
        if _NO_PROSE.search(letters):
            raise reasons.lost(text.strip())
        if numbers and (_OPENING.search(text) or _CHANNEL.search(text)):
            raise reasons.lost(text.strip())
        if _OPENING.search(text) and _CHANNEL.search(text) and not text.rstrip().endswith(":"):
            raise reasons.vague(text.strip())
        if numbers and (words <= 1 or (numbers > 1 and words <= _FEW_WORDS)) and not is_sentence(text):
            raise reasons.lost(text.strip())
        if self.manner.assume.get("changes") is None and not CHANGES.isdisjoint(_WORDS.findall(text.lower())):
            raise reasons.may_change(text.strip())
        if "s" in letters and _LENGTH_IN_WORDS.search(text):
            raise reasons.in_words(text.strip())

    def _perhaps_numbered(self, number: str, rest: str, mark: str | None) -> FreeLine:
        """``6) 142 3/8``: a line number if something else counts the pieces, else asked about."""
        before = self.above
        read = self._free(rest, mark)
        answer = self.manner.assume.get("n)")
        if not read.items or answer == "numbering" or "q" in read.letters or "A" in read.letters:
            return read
        if answer == "quantity" and len(read.items) == 1:
            self.above = before
            return self._free(f"{number} @ {rest}", mark)
        said = read.items[0].text
        raise reasons.unclear_quantity(number, (f"{number} of {said}", f"line {number}: 1 of {said}"), "n)")

    def _finished(self, read: FreeLine, mark: str | None, material: str | None) -> FreeLine:
        """Add the names that stand elsewhere than on the line: in brackets, in a cell, in the heading above."""
        if not (mark or material or self.material):
            return read
        if self.doubted and not material and any(item.material is None for item in read.items):
            self.asked[self.doubted.number] = self.doubted
        items = tuple(
            replace(item, mark=mark or item.mark, material=material or self._of_heading(item.material))
            for item in read.items
        )
        return replace(read, items=items)

    def _of_heading(self, said: str | None) -> str | None:
        """A line's own words for its material are the heading's, where they say nothing that it does not."""
        if said is None or (self.material and said not in self.names.given and adds_nothing(said, self.heading)):
            return self.material
        return said

    def _kind(self, number: int, raw: str, letters: str) -> LineKind:
        text = plain(raw)
        self.wall = wall_of(text) or self.wall
        if titles := header(text):
            self.table = titles
            return LineKind.HEADING
        if self.table and has_titles(text, self.table.separator):
            self.table = None
        if never_pieces(text) or is_envelope(text):
            return LineKind.COMMENT
        found = heading(text, letters, self.names)
        if found and found.material:
            self._head(text, found.material)
            return LineKind.HEADING
        if words := perhaps_material(text, letters):
            return self._perhaps_heading(number, raw, " ".join(words.split()))
        return LineKind.HEADING if found else LineKind.COMMENT

    def _head(self, text: str, material: str) -> None:
        """Keep the material of a heading. Where it is none of those given but almost one, nor are the lines below."""
        self.doubted = None
        self.above = replace(self.above, material=None) if self.above else None
        self.material = self.heading = " ".join(text.split()).rstrip(":")
        self.names.check(text)
        self.names.check_pocket(text)
        self._check_colour(material, text)
        self.material = self._with_strange(text, material) if material in self.names.given else material

    def _perhaps_heading(self, number: int, raw: str, words: str) -> LineKind:
        """Words that may be a material: until that is answered, pieces below are of no other."""
        answer = self.manner.assume.get("words")
        if answer == "remark":
            return LineKind.COMMENT
        self._head(words, words)
        if answer is None:
            problem = reasons.unclear_words(words).problem
            self.doubted = Line(number, LineKind.HEADING, raw, problem=problem)
            return LineKind.COMMENT
        return LineKind.HEADING
