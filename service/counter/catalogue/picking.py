"""Materials of the catalogue on the page: found by the names that lists and people use, filled in, and merged.

A row of the page that names a material of the catalogue and says nothing else is filled in with it; a name on the list
that is a material's becomes a row. What staff change in such a row holds for their plan alone, and what the page does
not show of it stays as it is in the catalogue.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from contextlib import suppress
from dataclasses import dataclass, replace
from typing import TypeVar

from flask import g
from redis.exceptions import RedisError

from service import catalogue
from service.counter.form import ListForm, MaterialRow, StockForm
from service.counter.merging import Opened
from service.counter.request import Request, material_of
from service.counter.stored import beyond_row, material_row
from service.http.problems import Problem
from service.wire import limits
from service.wire.materials.catalogue import for_request, in_force
from service.wire.materials.material import MaterialSchema
from service.wire.materials.material import material_of as material_asked
from service.wire.numbers import in_units
from solver.lengths import Unit
from solver.materials import Material
from workers.orders.catalogue import Entry
from workers.plans.index import words_in

MOST_OFFERED = 1_000
"""Materials that are offered by name; others are found by typing theirs."""
_LIKE = 4
Form = TypeVar("Form", bound=StockForm)
Words = tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Known:
    """The materials of the catalogue of which something is sold today, by id, and which names stand for one alone."""

    entries: Mapping[str, Entry]
    by_words: Mapping[Words, str]

    def named(self, name: str) -> Entry | None:
        """Return the material that a name stands for."""
        id_ = name.strip() if name.strip() in self.entries else self.by_words.get(tuple(words_in(name)))
        return self.entries[id_] if id_ else None

    def like(self, name: str) -> list[Entry]:
        """Return a few materials that a name may mean."""
        exact = self.named(name)
        found = catalogue.having(self.entries.values(), name)
        return [*([exact] if exact else []), *(each for each in found if each is not exact)][:_LIKE]

    @property
    def offered(self) -> list[Entry]:
        """Return the materials to offer."""
        return [*self.entries.values()][:MOST_OFFERED]


def known() -> Known:
    """Return the caller's catalogue, read once for a page; none where the store does not answer."""
    if "known_materials" not in g:
        entries: list[Entry] = []
        with suppress(RedisError, Problem):
            today = catalogue.today()
            entries = [entry for entry in catalogue.every() if in_force(entry.body["stock"], today)]
        g.known_materials = Known({entry.id: entry for entry in entries}, _by_words(entries))
    found: Known = g.known_materials
    return found


def _by_words(entries: Iterable[Entry]) -> Mapping[Words, str]:
    meant: dict[Words, set[str]] = {}
    for entry in entries:
        for name in (entry.id, *catalogue.names_of(entry)):
            meant.setdefault(tuple(words_in(name)), set()).add(entry.id)
    return {words: next(iter(ids)) for words, ids in meant.items() if words and len(ids) == 1}


def filled(form: Form) -> Form:
    """Return the form with every row filled in that names a material of the catalogue and says nothing else."""
    if not any(map(_may_be_filled, form.materials)):
        return form
    return replace(form, materials=tuple(_filled(row, form.unit) for row in form.materials))


def _may_be_filled(row: MaterialRow) -> bool:
    named = bool(row.name.strip() or row.role)
    return named and not row.of and not row.settings and all(each.blank and not each.out for each in row.stock)


def _filled(row: MaterialRow, unit: Unit) -> MaterialRow:
    entry = known().named(row.name.strip() or row.product) if _may_be_filled(row) else None
    return row if entry is None else row_of(entry, unit, row.role)


def row_of(entry: Entry, unit: Unit, role: str = "") -> MaterialRow:
    """Return a material of the catalogue as a row of the page."""
    return replace(material_row(material_in(entry, unit), "", unit, role), catalogue=entry.id)


def material_in(entry: Entry, unit: Unit) -> Material:
    """Return a material of the catalogue as a plan of today is made with it."""
    with in_units(unit):
        return material_asked(MaterialSchema().load(for_request(entry, catalogue.today(), unit)))


def adopted(form: ListForm, names: Iterable[str]) -> ListForm:
    """Return the form with a row for each name of its list that is a material's, unless staff said what it is."""
    for name in names:
        if name not in dict(form.same) and (entry := known().named(name)):
            form = with_material(form, entry, name)
    return form


def with_material(form: ListForm, entry: Entry, name: str) -> ListForm:
    """Return the form with a material of the catalogue, for which a name on the list stands."""
    if entry.id not in form.names:
        if len(form.materials) >= limits.MATERIALS:
            return form
        row = replace(row_of(entry, form.unit), adopted=True)
        form = replace(form, materials=(*form.materials, row))
    others = tuple(pair for pair in form.same if pair[0] != name)
    return replace(form, same=(*others, (name, entry.id)))


def changes(picked: str) -> dict[str, Callable[[Form, str], Form]]:
    """Return the buttons of the catalogue by name; ``picked`` is what was chosen beside them."""
    return {"take": _take, "pick": lambda form, _: _pick(form, picked)}


def _take(form: ListForm, where: str) -> ListForm:
    """Take a material for a name on the list: ``where`` is its id, a stroke, and the name."""
    id_, _, name = where.partition("/")
    entry = known().entries.get(id_)
    return with_material(form, entry, name) if entry else form


def _pick(form: Form, id_: str) -> Form:
    entry = known().entries.get(id_)
    if entry is None or len(form.materials) >= limits.MATERIALS or id_ in form.names:
        return form
    return replace(form, materials=(*form.materials, row_of(entry, form.unit)))


def behind(form: StockForm) -> dict[str, Opened]:
    """Return what is behind the rows that are of the catalogue, by its name there."""
    ids = [row.catalogue for row in form.materials if row.catalogue]
    entries = catalogue.fetch(ids) if ids else {}
    return {id_: told for id_, entry in entries.items() if (told := _opened(entry, form.unit)).request["stock"]}


def _opened(entry: Entry, unit: Unit) -> Opened:
    copy = for_request(entry, catalogue.today(), unit)
    if not copy["stock"]:
        return Opened(copy, {})
    alone = StockForm(unit, materials=(row_of(entry, unit),))
    return Opened(copy, material_of(Request(), alone, "#", 0))


def besides(form: StockForm) -> dict[str, str]:
    """Return by field's prefix what is kept of rows of the catalogue that has no field on the page."""
    told: dict[str, str] = {}
    for place, row in enumerate(form.materials):
        if row.catalogue and (entry := known().entries.get(row.catalogue)):
            told |= beyond_row(place, row, material_in(entry, form.unit), form.unit)
    return told
