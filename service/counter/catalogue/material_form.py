"""A material of the catalogue as a form: a field for each column of a price list, rows for its lengths and dates."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from service.counter.form import whole_of
from service.counter.labels import CATEGORIES, LAP_ENDS, PANELS_SERVE, UNITS
from service.counter.request import Json
from service.http.problems import FieldError
from service.wire import limits
from service.wire.fields import Choice, DateField, Flag, date_of
from service.wire.materials.catalogue import in_force
from service.wire.materials.material import SettingsSchema
from service.wire.materials.price_list import COLUMNS, Column, cell_of, named_by_length
from service.wire.numbers import Amount, Count
from service.wire.typed import are_breaks, asked, typed
from solver.categories import Category
from solver.lengths import Unit
from workers.orders.catalogue import Entry

Texts = Mapping[str, str]
"""What was typed, by the names of columns."""
OF_MATERIAL = {each.name: each for each in COLUMNS if not each.of_stock}
OF_STOCK = {each.name: each for each in COLUMNS if each.of_stock}
SHOWN = ("length", "price", "from", "code", "carton")
"""What of a stock length is always shown; the rest is below it."""
SETTINGS = tuple(name for name in OF_MATERIAL if name in SettingsSchema().fields)
_OPTIONS: Mapping[str, Mapping[str, str]] = {
    "category": {str(category): words for category, words in CATEGORIES.items()},
    "units": {str(unit): words for unit, words in UNITS.items()},
    "lap_ends": {"": "default", **{str(ends): words for ends, words in LAP_ENDS.items()}},
    "panels_serve": {"": "default", **PANELS_SERVE},
}
"""What can be chosen, by columns."""
_VERSIONS = 10**11


@dataclass(frozen=True, slots=True)
class MaterialForm:
    """A material as typed; ``version`` is the one that was opened, 0 for a new material."""

    id: str = ""
    version: int = 0
    said: Texts = field(default_factory=dict)
    stock: tuple[Texts, ...] = ({},)

    @property
    def unit(self) -> Unit:
        """What a bare number means."""
        return Unit(self.said.get("units") or Unit.IN)


def form_of(entry: Entry) -> MaterialForm:
    """Return a material as it is opened."""
    unit = Unit(entry.body["units"])
    said = {name: f"{cell_of(each, entry.body, unit)}" for name, each in OF_MATERIAL.items()}
    stock = [{name: f"{cell_of(each, row, unit)}" for name, each in OF_STOCK.items()} for row in entry.body["stock"]]
    return MaterialForm(entry.id, entry.version, said, tuple(stock))


def read_form(given: Mapping[str, str]) -> MaterialForm:
    """Return the form that a browser sent."""
    said = {name: given.get(name, "") for name in OF_MATERIAL}
    if said["units"] not in [*Unit]:
        said["units"] = Unit.IN
    stock: list[Texts] = []
    while len(stock) < limits.PRICE_ROWS and f"s{len(stock)}-length" in given:
        stock.append({name: given.get(f"s{len(stock)}-{name}", "") for name in OF_STOCK})
    version = whole_of(given.get("version", ""), 0, _VERSIONS) or 0
    return MaterialForm(given.get("id", "").strip(), version, said, tuple(stock) or ({},))


def request_of(form: MaterialForm) -> tuple[Json, dict[str, str]]:
    """Return the request that a form says, and from its pointers to fields; rows that are empty are left out."""
    places = {"#/stock": "s0-length", "#/id": "id"} | {f"#/{name}": name for name in OF_MATERIAL}
    body: Json = _asked(form.said, OF_MATERIAL) | {"stock": []}
    for at, row in enumerate(form.stock):
        if told := _asked(row, OF_STOCK):
            pointer = f"#/stock/{len(body['stock'])}"
            places |= {pointer: f"s{at}-length"} | {f"{pointer}/{name}": f"s{at}-{name}" for name in OF_STOCK}
            places[f"{pointer}/id"] = f"s{at}-from"
            body["stock"].append({"id": named_by_length(row.get("length", "").strip(), form.unit), **told})
    return body, places


def _asked(texts: Texts, columns: Mapping[str, Column]) -> Json:
    typed_in = {name: text for name in columns if (text := texts.get(name, "").strip())}
    return {name: asked(text, columns[name].field) for name, text in typed_in.items()}


def fault_of(error: FieldError, places: Mapping[str, str]) -> tuple[str, str]:
    """Return the field in which a fault of the request is, and what is wrong there in the page's words."""
    pointer = error.pointer
    while pointer not in places and "/" in pointer:
        pointer = pointer.rpartition("/")[0]
    place = places.get(pointer, "id")
    row, _, name = place.rpartition("-") if place.startswith("s") and "-" in place else ("", "", place)
    heading = OF_STOCK[name].heading if row else OF_MATERIAL[name].heading if name in OF_MATERIAL else "Material"
    where = f"Length {int(row[1:]) + 1}, {heading[0].lower()}{heading[1:]}" if row else heading
    return place, f"{where}: {error.detail}"


def with_length(form: MaterialForm) -> MaterialForm:
    """Return the form with a row more."""
    return replace(form, stock=(*form.stock, {}))


def with_prices_from(form: MaterialForm, day: str) -> MaterialForm:
    """Return the form with every length that is sold on a day once more, for what holds from that day on."""
    since = date_of(day)
    if since is None:
        return form
    dated = [{**row, "place": at} for at, row in enumerate(request_of(form)[0]["stock"])]
    places = [row["place"] for row in in_force(dated, since) if row.get("from") != day]
    rows = [row for row in form.stock if any(text.strip() for text in row.values())]
    return replace(form, stock=(*rows, *({**rows[place], "from": day} for place in places)))


def options(each: Column) -> Mapping[str, str] | None:
    """Return what can be chosen in a column, None where something is typed."""
    if isinstance(each.field, Flag) and each.of_stock:
        return {"": "default", "yes": "yes", "no": "no"}
    if isinstance(each.field, Flag):
        # a setting left out is that of its category; no category's material must be of one lot
        usual = typed(each.field.metadata.get("default", False), each.field, Unit.IN)
        return {"": usual, "no" if usual == "yes" else "yes": "no" if usual == "yes" else "yes"}
    if isinstance(each.field, Choice) and each.name not in _OPTIONS:
        return {"": "default", **{str(word): str(word) for word in each.field.words}}
    return _OPTIONS.get(each.name)


def kind(each: Column) -> str:
    """Return how a column is typed: as a date, or by which keys of a phone."""
    if isinstance(each.field, DateField):
        return "date"
    return "numeric" if isinstance(each.field, Count) else "decimal" if isinstance(each.field, Amount) else "text"


def hint(form: MaterialForm, each: Column) -> str:
    """Return what holds where a field is left empty."""
    if each.name == "length":
        return "3810 mm" if form.unit.metric else "12' 6\""
    if are_breaks(each.field):
        return "24 at 9.20; 48 at 8.90"
    if each.of_stock or each.name not in SETTINGS:
        return ""
    category = Category(form.said.get("category") or Category.SIDING)
    return typed(getattr(category.kind.defaults, each.name), each.field, form.unit)
