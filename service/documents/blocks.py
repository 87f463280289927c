"""What a sheet is made of: pages of paragraphs, tables and drawings, ready to be set in any medium."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import UTC, date, datetime
from enum import StrEnum

from service.drawing.lettering import clean
from service.drawing.shapes import Drawing
from workers.orders.company import NOBODY, Company
from workers.orders.particulars import Handover
from workers.plans.record import Record

BOX = "☐"
"""A box to tick."""


_BEFORE_FRACTION = re.compile(r"(?<=\d) (?=\d+/\d)")


def unbroken(text: str) -> str:
    """Return text in which no line ends between an inch and its fraction: 29 1/2 broken there would read 29."""
    return _BEFORE_FRACTION.sub("\N{NO-BREAK SPACE}", text)


class Paper(StrEnum):
    """The size of the sheet."""

    LETTER = "letter"
    A4 = "a4"


@dataclass(frozen=True, slots=True)
class Column:
    """A column of a table: its heading, its share of the width, whether it holds figures."""

    title: str
    share: float
    figures: bool = False


@dataclass(frozen=True, slots=True)
class Table:
    """Rows of cells; without any title there is no heading row. The last row is a total where ``total`` says so."""

    columns: tuple[Column, ...]
    rows: tuple[tuple[str, ...], ...]
    total: bool = False


@dataclass(frozen=True, slots=True)
class Paragraph:
    """A sentence or more; ``strong`` where it must not be missed."""

    text: str
    strong: bool = False


@dataclass(frozen=True, slots=True)
class Heading:
    """The heading of what follows on the same page."""

    text: str


@dataclass(frozen=True, slots=True)
class Facts:
    """Named entries of a title block; an empty one is a line to write on."""

    entries: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Figure:
    """A drawing."""

    drawing: Drawing


@dataclass(frozen=True, slots=True)
class Links:
    """Where to go from here on a screen: words and an address relative to the page's own; paper has none."""

    entries: tuple[tuple[str, str], ...]


class Role(StrEnum):
    """What a word on the saw sheet is, which decides how it looks."""

    LENGTH = "length"
    """Of a piece: what a stop is set to."""
    MARK = "mark"
    """On a tape that lies along the stick."""
    REST = "rest"
    """What is left of the stick."""
    KEEP = "keep"
    """What is left of it and kept."""
    NAME = "name"
    """What a piece is called."""
    WHERE = "where"
    """Where it goes next, and what else is to be done to it."""
    COUNT = "count"
    """How many sticks are cut so."""
    BOXES = "boxes"
    STICKS = "sticks"


@dataclass(frozen=True, slots=True)
class Word:
    """A few words that stay together."""

    role: Role
    text: str


Cell = tuple[Word, ...]


@dataclass(frozen=True, slots=True)
class Line:
    """One line of a setting: its sticks in the first column, then so many columns of equal width, some left empty."""

    sticks: Cell
    columns: int
    cells: tuple[Cell, ...]


@dataclass(frozen=True, slots=True)
class Setting:
    """Sticks cut to the same stops, from the left end."""

    lines: tuple[Line, ...]


@dataclass(frozen=True, slots=True)
class Cuts:
    """Settings of the saw, in the order in which they are made."""

    settings: tuple[Setting, ...]


Block = Table | Paragraph | Heading | Facts | Figure | Links | Cuts


@dataclass(frozen=True, slots=True)
class Page:
    """What begins on a new page, under a title."""

    title: str
    blocks: tuple[Block, ...]


@dataclass(frozen=True, slots=True)
class Sheet:
    """A whole document; ``foot`` stands at the bottom of every page, ``made`` is when the plan was finished."""

    title: str
    pages: tuple[Page, ...]
    foot: str
    made: datetime
    paper: Paper


@dataclass(frozen=True, slots=True)
class TitleBlock:
    """What is known of an order; ``number`` is what it is found by. What is empty is a line to write on or left out.

    ``company`` is whose order it is; its name and address stand above, its note and its tax below the order.
    """

    job: str = ""
    customer: str = ""
    po: str = ""
    date: str = ""
    taken_by: str = ""
    number: str = ""
    phone: str = ""
    wanted_by: str = ""
    handover: str = ""
    note: str = ""
    called_off: bool = False
    company: Company = NOBODY

    @classmethod
    def of(cls, record: Record, company: Company) -> TitleBlock:
        """Return the title block of a plan; it is dated where the server stands."""
        known = record.particulars
        how = known.handover or company.handover
        where = f": {known.address}" if known.address and how is Handover.DELIVERY else ""
        return cls(
            job=record.name,
            customer=known.customer,
            po=known.purchase_order,
            date=record.created_at.astimezone().date().isoformat(),
            taken_by=known.taken_by,
            number=record.number,
            phone=known.phone,
            wanted_by=known.wanted_by.isoformat() if known.wanted_by else "",
            handover=f"{HANDOVERS[how]}{where}" if how else "",
            note=known.note,
            called_off=known.called_off,
            company=company,
        )

    def facts(self) -> Facts:
        """Return it as entries with their names."""
        entries = (
            *[("Plan no.", self.number)] * bool(self.number),
            ("Job", self.job),
            ("Customer", self.customer),
            *[("Telephone", self.phone)] * bool(self.phone),
            ("Purchase order no.", self.po),
            ("Date", self.date),
            *[("Wanted by", self.wanted_by)] * bool(self.wanted_by),
            *[("Handover", self.handover)] * bool(self.handover),
            ("Taken by", self.taken_by),
        )
        return Facts(tuple((name, clean(value)) for name, value in entries))

    @property
    def whose(self) -> str:
        """What tells sheets of different orders apart, at the foot of each of their pages."""
        return " · ".join(filter(None, map(clean, (self.number, self.job, self.customer, self.po))))

    def letterhead(self) -> str:
        """Return in a line whose order it is, empty where nobody said."""
        own = self.company
        return " · ".join(clean(word) for word in (own.name, *own.address, own.phone, own.email) if word)


HANDOVERS = {Handover.PICK_UP: "Pick-up", Handover.DELIVERY: "Delivery"}
"""How goods come to the customer, in words."""


def long_date(day: date) -> str:
    """Return a date as one says it, ``Monday 23 November 2026``."""
    return f"{day:%A} {day.day} {day:%B %Y}"


def midnight(day: date) -> datetime:
    """Return the beginning of a day, which a sheet that is of no hour is dated with."""
    return datetime(day.year, day.month, day.day, tzinfo=UTC)
