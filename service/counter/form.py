"""The forms of the page as typed: nothing here is checked yet, so that every page can show it again."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, fields, replace
from typing import Any

from marshmallow.fields import Field

from service.wire import limits
from service.wire.job import JobSchema
from service.wire.materials.material import MaterialSchema, OffcutSchema, StockSchema
from solver.categories import Category, Settings
from solver.cutlist import ANSWERS
from solver.lengths import Unit
from solver.takeoff.measured import Role

MATERIAL: Mapping[str, Field[Any]] = MaterialSchema().fields
OFFCUT: Mapping[str, Field[Any]] = OffcutSchema().fields
STOCK: Mapping[str, Field[Any]] = StockSchema().fields
WITHIN_DAYS: Field[Any] = JobSchema().fields["within_days"]
SETTINGS = tuple(field.name for field in fields(Settings))
"""Everything that a material can be told besides its name, its category and its stock."""
ROLES = {
    Role.PANEL: (Role.PANEL.words, Category.SIDING),
    Role.STARTER: (Role.STARTER.words, Category.STARTER),
    Role.CHANNEL: (Role.CHANNEL.words, Category.CHANNEL),
    Role.UTILITY: (Role.UTILITY.words, Category.CHANNEL),
    Role.OUTSIDE_POST: (Role.OUTSIDE_POST.words, Category.POST),
    Role.INSIDE_POST: (Role.INSIDE_POST.words, Category.POST),
    Role.DRIP_CAP: (Role.DRIP_CAP.words, Category.OTHER),
    Role.CLOSURE: (Role.CLOSURE.words, Category.OTHER),
    Role.SOFFIT: (Role.SOFFIT.words, Category.SOFFIT),
    Role.SOFFIT_VENTED: (Role.SOFFIT_VENTED.words, Category.SOFFIT),
    Role.SOFFIT_CHANNEL: (Role.SOFFIT_CHANNEL.words, Category.CHANNEL),
    Role.FASCIA: (Role.FASCIA.words, Category.OTHER),
}
"""What a material is used as on a house: in words, and the category of such a material."""


@dataclass(frozen=True, slots=True)
class StockRow:
    """One stock length; ``out`` says that none can be had today, ``of`` which row of the stored request it is.

    ``whole`` says that it is sold in full cartons alone; ``service.wire.materials.breaks`` reads ``breaks``.
    """

    length: str = ""
    code: str = ""
    price: str = ""
    carton: str = ""
    available: str = ""
    carton_price: str = ""
    breaks: str = ""
    fixed_cost: str = ""
    wait_days: str = ""
    whole: bool = False
    out: bool = False
    of: str = ""

    @property
    def blank(self) -> bool:
        """Whether nothing was typed."""
        return not (self.length or self.code or self.price or self.carton or self.available)


@dataclass(frozen=True, slots=True)
class MaterialRow:
    """One material; ``settings`` left empty take the defaults of its category, ``role`` is its use on a house.

    ``of`` is which material of the stored request it is, ``catalogue`` of which material of the catalogue it is a copy;
    ``adopted`` says that nobody put it in, but that the list names it.
    """

    name: str = ""
    category: str = Category.SIDING
    role: str = ""
    of: str = ""
    settings: Mapping[str, str] = field(default_factory=dict)
    stock: tuple[StockRow, ...] = (StockRow(),)
    catalogue: str = ""
    adopted: bool = False

    @property
    def product(self) -> str:
        """What it is called until it is given a name: what it is used as, else its category."""
        return ROLES[Role(self.role)][0] if self.role else Category(self.category).kind.product


@dataclass(frozen=True, slots=True)
class OffcutRow:
    """Left-over lengths on hand."""

    length: str = ""
    quantity: str = ""
    material: str = ""
    id: str = ""
    factory_end: str = ""
    of: str = ""

    @property
    def blank(self) -> bool:
        """Whether nothing was typed."""
        return not (self.length or self.quantity or self.id)


@dataclass(frozen=True, slots=True)
class StockForm:
    """What every way in asks for: the job and its particulars, what is cut from, and what is left over on hand.

    ``token`` tells one opening of the page from another; ``plan`` is the stored request that it was opened from.
    ``rack`` says that what lies on the rack may be used.
    """

    units: str = Unit.IN
    job: str = ""
    customer: str = ""
    phone: str = ""
    purchase_order: str = ""
    wanted_by: str = ""
    handover: str = ""
    address: str = ""
    taken_by: str = ""
    note: str = ""
    token: str = ""
    plan: str = ""
    materials: tuple[MaterialRow, ...] = (MaterialRow(),)
    offcuts: tuple[OffcutRow, ...] = ()
    rack: bool = False

    @property
    def unit(self) -> Unit:
        """What a bare number means."""
        return Unit(self.units) if self.units in list(Unit) else Unit.IN

    @property
    def names(self) -> tuple[str, ...]:
        """What each material is called: its name, or what its category is called, told apart by numbers."""
        found: list[str] = []
        for row in self.materials:
            base = row.name.strip()[: limits.ID] or row.product
            same = [base, *(f"{base[: limits.ID - 4]} {n}" for n in range(2, limits.MATERIALS + 2))]
            found.append(next(name for name in same if name not in found))
        return tuple(found)


def place_of(of: str, rows: Sequence[object]) -> int | None:
    """Return which of some rows a text means, counted from 0; None if none."""
    return whole_of(of, 0, len(rows) - 1)


def whole_of(text: str, least: int, most: int) -> int | None:
    """Return the whole number that digits stand for; None where it is none, or out of range, however long."""
    return int(text) if text.isascii() and text.isdecimal() and len(text) < 12 and least <= int(text) <= most else None


def stock_fields(given: Mapping[str, str]) -> dict[str, Any]:
    """Return the rows of ``StockForm`` that a browser sent."""
    materials = tuple(_materials(given)) or (MaterialRow(),)
    return {"materials": materials, "offcuts": tuple(rows(OffcutRow, given, "o", limits.OFFCUTS))}


def _materials(given: Mapping[str, str]) -> Iterator[MaterialRow]:
    for place, row in enumerate(rows(MaterialRow, given, "m", limits.MATERIALS)):
        stock = tuple(rows(StockRow, given, f"m{place}-s", limits.STOCK_ROWS)) or (StockRow(),)
        known = row.category if row.category in list(Category) else Category.OTHER
        settings = {name: text for name in SETTINGS if (text := given.get(f"m{place}-{name}", ""))}
        yield replace(row, stock=stock, category=known, settings=settings)


def rows(kind: type[Any], given: Mapping[str, str], prefix: str, most: int) -> Iterator[Any]:
    """Yield rows numbered from 0, as long as the next one has its first field in the form."""
    first = fields(kind)[0].name
    for place in range(most):
        if f"{prefix}{place}-{first}" not in given:
            return
        yield kind(**texts(kind, given, f"{prefix}{place}-"))


def texts(kind: type[Any], given: Mapping[str, str], prefix: str = "") -> dict[str, Any]:
    """Return the fields of a row that hold text, and those that are ticked."""
    kinds = {f.name: f.default for f in fields(kind) if isinstance(f.default, str | bool)}
    found = {name: given[prefix + name] for name in kinds if prefix + name in given}
    return {name: value if isinstance(kinds[name], str) else bool(value) for name, value in found.items()}


LEFT_OUT = "//"
"""A line that begins so was struck out at the counter."""
MENDED = " \N{LONG LEFTWARDS ARROW} "
"""Stands between a line as it was put right at the counter and what the customer wrote."""


def now_of(line: str) -> str:
    """Return a line of the list as it is to be read: without what the customer wrote before it was put right."""
    return line.partition(MENDED)[0]


def written_of(line: str) -> str:
    """Return a line as the customer wrote it."""
    return line.rpartition(MENDED)[2]


def mended(line: str, now: str) -> str:
    """Return a line put right, with what the customer wrote kept behind it."""
    written = written_of(line)
    return now if now == written or not written.strip() else f"{now}{MENDED}{written}"


@dataclass(frozen=True, slots=True)
class ListForm(StockForm):
    """The page with the pasted list.

    ``assume`` answers questions about notations, ``same`` says which material a name on the list stands
    for, ``rest`` is the material of lines that name none. ``plan`` is the stored request that it was opened from.
    ``keep_answers`` says that the answers hold for the customer's next list too.
    """

    text: str = ""
    plan: str = ""
    rest: str = ""
    within_days: str = ""
    assume: tuple[tuple[str, str], ...] = ()
    keep_answers: bool = False
    same: tuple[tuple[str, str], ...] = ()

    @property
    def said(self) -> str:
        """The list as it is to be read: lines that were struck out are empty, those put right as they are now."""
        return "\n".join("" if line.startswith(LEFT_OUT) else now_of(line) for line in self.text.split("\n"))

    @property
    def looked_for(self) -> tuple[str, ...]:
        """The materials to look for in the list by words of their names: those that staff put on the page.

        What the list named by itself stands for that name alone: ``j-34`` is not whatever has a J in it.
        """
        return tuple(name for row, name in zip(self.materials, self.names, strict=True) if not row.adopted)

    def material_of(self, named: str | None) -> str:
        """Return which material a name on the list stands for, or none; "" where that is not known."""
        if named in self.names:
            return str(named)
        own = self.looked_for
        said = dict(self.same).get(named, "") if named else own[0] if len(own) == 1 else self.rest
        return said if said in self.names else ""


def read_form(given: Mapping[str, str]) -> ListForm:
    """Return the form that a browser sent."""
    form = ListForm(
        **stock_fields(given),
        assume=tuple((name, said) for name in ANSWERS if (said := given.get(f"answer:{name}", "")) in ANSWERS[name]),
        same=tuple((key.removeprefix("same:"), value) for key, value in given.items() if key.startswith("same:")),
        **texts(ListForm, given),
    )
    return replace(form, text=_mended(form.text.replace("\r\n", "\n").replace("\r", "\n"), given))


def _mended(text: str, given: Mapping[str, str]) -> str:
    """Return the text with lines put in that were mended beside it, where they still stand as they were shown."""
    lines = text.split("\n")
    for place, line in enumerate(lines):
        if f"fix:{place + 1}" in given and given.get(f"was:{place + 1}") == line:
            lines[place] = mended(line, given[f"fix:{place + 1}"])
    return "\n".join(lines)
