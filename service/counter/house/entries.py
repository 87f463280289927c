"""The fields for what was measured, made of what a take-off takes: a field that is new there is on the page too.

A border, the take-up of an opening and the settings are objects in the request; on the page their fields stand in
the row itself, named ``left_takes_up``. Left out is what says nothing at such an edge: see ``_UNSAID``.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from marshmallow import Schema, missing
from marshmallow.fields import Field

from service.wire import limits
from service.wire.fields import Choice, Described, Flag, Id, Many, One
from service.wire.numbers import PLACE, Amount, Count, LengthField
from service.wire.takeoffs.measured import (
    BorderField,
    BorderSchema,
    CeilingSchema,
    EaveSchema,
    EdgeSchema,
    OpeningSchema,
    PanelSchema,
)
from service.wire.takeoffs.measured import MeasuredWallSchema as WallSchema
from service.wire.takeoffs.takeoff import ProductSchema, TakeOffSchema
from solver.takeoff.goods import Need
from solver.takeoff.measured import Meeting

_YES_NO = {"yes": True, "no": False}
_WHOLE = re.compile(r"-?[0-9]{1,9}")
_NONE = ("none", "no")
_ELSEWHERE = ("name", "units", "materials", "uses", "particulars", "limits", "minimum_order", "suppliers")
"""What every way in asks for, or none, and is not part of what is measured."""
_UNSAID = re.compile(r"(bottom|top|rake)_(corner|flange|material)")
"""What is said of posts has no meaning at edges that no post stands at; posted, it is kept."""


@dataclass(frozen=True, slots=True)
class Entry:
    """One field: its name in its row on the page, and where it stands in the row's object of the request.

    ``default`` is what the request takes where it is left out, None where there is none.
    """

    name: str
    path: tuple[str, ...]
    field: Field[Any]
    default: object = None

    @property
    def refers(self) -> bool:
        """Whether it names one of the materials; on the page that is the material's place, for a name may change."""
        return isinstance(self.field, Id) and (self.path[-1] == "material" or self.name == "panel")

    @property
    def words(self) -> tuple[str, ...]:
        """What can be chosen; empty where something is typed."""
        if isinstance(self.field, Choice):
            return tuple(map(str, self.field.words))
        return ("", *_YES_NO) if isinstance(self.field, Flag) else ()

    @property
    def start(self) -> str:
        """What a new row has in it."""
        return str(self.default) if isinstance(self.field, Choice) and self.default else ""

    def asked(self, text: str) -> object:
        """Return what a text asks for as a request says it; what is none of the field's values stays as it is."""
        bare, field = text.strip(), self.field
        if isinstance(field, Flag):
            return _YES_NO.get(bare, bare)
        if field.allow_none and bare.lower() in _NONE:
            return None
        if isinstance(field, Count):
            return int(bare) if _WHOLE.fullmatch(bare) else bare
        return bare.replace(",", ".") if isinstance(field, Amount) else bare

    def said(self, value: object) -> str:
        """Return a value of a request as one would type it."""
        if isinstance(value, bool):
            return "" if value is self.default else next(word for word, known in _YES_NO.items() if known is value)
        if value is None:
            return "" if self.default is None else _NONE[0]
        return str(value)


@dataclass(frozen=True, slots=True)
class Group:
    """A kind of row: the letter of its ids, its list in the request, its fields, and the rows that it has in turn.

    ``first`` is the field that stands for the whole row. A ``pair`` is a list of two in the request, no object.
    """

    letter: str
    name: str
    entries: Mapping[str, Entry]
    most: int = 1
    first: str = ""
    below: tuple[Group, ...] = ()
    pair: bool = False

    @property
    def borders(self) -> Mapping[str, Entry]:
        """The fields that say what an edge meets, by the edge."""
        return {it.path[0]: it for it in self.entries.values() if len(it.path) == 2 and it.path[1] == "meets"}


def entries_of(schema: type[Schema]) -> dict[str, Entry]:
    """Return the fields of a schema's object by name, those of objects in it among them."""
    found = (it for name, field in schema().fields.items() if name not in _ELSEWHERE for it in _entries(name, field))
    return {it.name: it for it in found if not _UNSAID.fullmatch(it.name)}


def _entries(name: str, field: Field[Any]) -> Iterator[Entry]:
    key = field.data_key or name
    default = field.metadata.get("default")
    if isinstance(field, BorderField):
        yield Entry(name, (key, "meets"), Choice("", Meeting), default)
        for part in entries_of(BorderSchema).values():
            if part.name != "meets":
                yield Entry(f"{name}_{part.name}", (key, *part.path), part.field, part.default)
    elif isinstance(field, One):
        for part in entries_of(type(field.schema)).values():
            yield Entry(f"{name}_{part.name}", (key, *part.path), part.field, part.default)
    elif isinstance(field, Described) and not isinstance(field, Many):
        yield Entry(name, (key,), field, None if default is missing else default)


def _words_in(field: Field[Any]) -> tuple[str, ...]:
    """Return the words that a list of words may hold."""
    inner = field.inner if isinstance(field, Many) else None
    return tuple(map(str, inner.words)) if isinstance(inner, Choice) else ()


WITHOUT = _words_in(TakeOffSchema().fields["without"])
"""What can be switched off: needs, and uses of trim."""
_POINT = {name: Entry(name, (name,), LengthField(least=-PLACE)) for name in ("along", "up")}
POINTS = Group("p", "outline", _POINT, limits.CORNERS, "along", pair=True)
EDGES = Group("g", "edges", entries_of(EdgeSchema), limits.CORNERS, "edge")
OPENINGS = Group("o", "openings", entries_of(OpeningSchema), limits.OPENINGS, "left")
WALLS = Group("w", "walls", entries_of(WallSchema), limits.MEASURED_WALLS, "width", (POINTS, EDGES, OPENINGS))
CEILINGS = Group("c", "ceilings", entries_of(CeilingSchema), limits.MEASURED_WALLS, "length")
EAVES = Group("e", "eaves", entries_of(EaveSchema), limits.MEASURED_WALLS, "length")
PANELS = Group("k", "panels", entries_of(PanelSchema), limits.MATERIALS, "exposure")
GOODS = Group("b", "goods", entries_of(ProductSchema), len(Need), "id")
HOUSE = Group("", "", entries_of(TakeOffSchema), below=(PANELS, WALLS, CEILINGS, EAVES, GOODS))
"""The whole of it: fields of the house, and its rows."""
