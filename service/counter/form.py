"""The form at the counter, as typed: nothing here is checked yet, so that every page can show it again."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, fields, replace
from typing import Any

from service.schemas import limits
from solver.cutlist import ANSWERS
from solver.lengths import Unit
from solver.materials import Category

NAMES = {
    Category.SIDING: "siding panel",
    Category.SOFFIT: "soffit panel",
    Category.STARTER: "starter strip",
    Category.POST: "corner post",
    Category.CHANNEL: "channel",
    Category.OTHER: "other trim",
}
"""What a material is called until it is given a name."""


@dataclass(frozen=True, slots=True)
class StockRow:
    """One stock length; ``out`` says that none can be had today."""

    length: str = ""
    code: str = ""
    price: str = ""
    carton: str = ""
    out: bool = False

    @property
    def blank(self) -> bool:
        """Whether nothing was typed."""
        return not (self.length or self.code or self.price or self.carton)


@dataclass(frozen=True, slots=True)
class MaterialRow:
    """One material; allowances left empty take the defaults of its category."""

    name: str = ""
    category: str = Category.SIDING
    lap: str = ""
    end_gap: str = ""
    kerf: str = ""
    lap_ends: str = ""
    shortest_piece: str = ""
    keep_offcuts_from: str = ""
    spare_percent: str = ""
    stock: tuple[StockRow, ...] = (StockRow(),)


@dataclass(frozen=True, slots=True)
class OffcutRow:
    """Left-over lengths on hand."""

    length: str = ""
    quantity: str = ""
    material: str = ""
    id: str = ""
    factory_end: str = ""

    @property
    def blank(self) -> bool:
        """Whether nothing was typed."""
        return not (self.length or self.quantity or self.id)


@dataclass(frozen=True, slots=True)
class CounterForm:
    """Everything on the page.

    ``assume`` answers questions about notations, ``same`` says which material a name on the list stands
    for, ``rest`` is the material of lines that name none; ``token`` tells one opening of the page from another.
    """

    text: str = ""
    units: str = Unit.IN
    job: str = ""
    customer: str = ""
    po: str = ""
    taken_by: str = ""
    rest: str = ""
    token: str = ""
    materials: tuple[MaterialRow, ...] = (MaterialRow(),)
    offcuts: tuple[OffcutRow, ...] = ()
    assume: tuple[tuple[str, str], ...] = ()
    same: tuple[tuple[str, str], ...] = ()

    @property
    def unit(self) -> Unit:
        """What a bare number means."""
        return Unit(self.units) if self.units in list(Unit) else Unit.IN

    @property
    def names(self) -> tuple[str, ...]:
        """What each material is called: its name, or what its category is called, told apart by numbers."""
        found: list[str] = []
        for row in self.materials:
            base = row.name.strip()[: limits.ID - 4] or NAMES.get(Category(row.category), "panel")
            same = [base, *(f"{base} {n}" for n in range(2, limits.MATERIALS + 2))]
            found.append(next(name for name in same if name not in found))
        return tuple(found)


def read_form(given: Mapping[str, str]) -> CounterForm:
    """Return the form that a browser sent."""
    form = CounterForm(
        materials=tuple(_materials(given)) or (MaterialRow(),),
        offcuts=tuple(_rows(OffcutRow, given, "o", limits.OFFCUTS)),
        assume=tuple((name, said) for name in ANSWERS if (said := given.get(f"answer:{name}", "")) in ANSWERS[name]),
        same=tuple((key.removeprefix("same:"), value) for key, value in given.items() if key.startswith("same:")),
        **_texts(CounterForm, given, ""),
    )
    return replace(form, text=_mended(form.text.replace("\r\n", "\n").replace("\r", "\n"), given))


def _materials(given: Mapping[str, str]) -> Iterator[MaterialRow]:
    for place, row in enumerate(_rows(MaterialRow, given, "m", limits.MATERIALS)):
        stock = tuple(_rows(StockRow, given, f"m{place}-s", limits.STOCK_ROWS)) or (StockRow(),)
        known = row.category if row.category in list(Category) else Category.OTHER
        yield replace(row, stock=stock, category=known)


def _rows(kind: type[Any], given: Mapping[str, str], prefix: str, most: int) -> Iterator[Any]:
    """Yield rows numbered from 0, as long as the next one has a field in the form."""
    first = fields(kind)[0].name
    for place in range(most):
        if f"{prefix}{place}-{first}" not in given:
            return
        yield kind(**_texts(kind, given, f"{prefix}{place}-"))


def _texts(kind: type[Any], given: Mapping[str, str], prefix: str) -> dict[str, Any]:
    told: dict[str, Any] = {f.name: given[prefix + f.name] for f in fields(kind) if prefix + f.name in given}
    return told | {"out": bool(told["out"])} if "out" in told else told


def _mended(text: str, given: Mapping[str, str]) -> str:
    """Return the text with lines put in that were mended beside it, where they still stand as they were shown."""
    lines = text.split("\n")
    for place, line in enumerate(lines):
        if f"fix:{place + 1}" in given and given.get(f"was:{place + 1}") == line:
            lines[place] = given[f"fix:{place + 1}"]
    return "\n".join(lines)
