"""The service layer of the catalogue: keep, find and take out materials, and fill them into requests that name them."""

from __future__ import annotations

import logging
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from typing import Any

from service.http import access
from service.http.preferences import require_match
from service.http.problems import FieldError, Problem, not_found, refused
from service.spreadsheets import sheets_of
from service.state import store
from service.wire import limits
from service.wire.fields import Json
from service.wire.job import units_of
from service.wire.materials.catalogue import for_request, read_material, same
from service.wire.materials.price_list import read_price_list
from solver.categories import Category
from workers.codec import Unreadable
from workers.orders.catalogue import MOST, MOST_BEFORE, CatalogueChanged, CatalogueFull, Catalogues, Change, Entry
from workers.plans.index import words_in

STARTER_SET = Path(__file__).parent / "data" / "starter-set.csv"
"""Generic materials in the usual sizes, without prices, as a price list."""
log = logging.getLogger(__name__)


def look(id_: str) -> Entry:
    """Return a material. Raises ``Problem`` where there is none."""
    found = fetch([id_]).get(id_)
    if found is None:
        raise not_found(f"The catalogue has no material {id_[: limits.ID]}.")
    return found


def look_back(id_: str, version: int) -> Entry:
    """Return a material as it was, or is, in one of its versions. Raises ``Problem`` where that is not known."""
    now = fetch([id_]).get(id_)
    if now is not None and now.version == version:
        return now
    try:
        before = _catalogues().before(access.client(), id_, version)
    except Unreadable:
        raise _unreadable() from None
    if before is None:
        raise not_found(f"No version {version} of {id_[: limits.ID]} is kept; of each material {MOST_BEFORE} are.")
    return before


def fetch(ids: Sequence[str]) -> dict[str, Entry]:
    """Return those of some materials that there are, by id."""
    try:
        return _catalogues().fetch(access.client(), ids)
    except Unreadable:
        raise _unreadable() from None


def every() -> list[Entry]:
    """Return all materials by the order of their ids."""
    try:
        return _catalogues().every(access.client())
    except Unreadable:
        raise _unreadable() from None


def put(id_: str, body: Mapping[str, Any], believed: int | None = None) -> tuple[Entry, bool]:
    """Keep a material, and return it, and whether it is new. Raises ``Problem``.

    It must be as the client knows it: as its request's headers say, or of the version ``believed``, 0 for none.
    """
    said, before = read_material(id_, body), fetch([id_]).get(id_)
    require_match(etag_of(before) if before else None)
    version = before.version if before else 0
    change([Change(id_, said, version if believed is None else believed)])
    return look(id_), before is None


def take_out(id_: str, believed: int | None = None) -> None:
    """Take a material out, if it is as the client knows it; plans keep their copies. Raises ``Problem``."""
    before = look(id_)
    require_match(etag_of(before))
    change([Change(id_, None, before.version if believed is None else believed)])


def change(changes: Iterable[Change]) -> None:
    """Make changes, all or none. Raises ``Problem`` where a material is not as was believed, or there are too many."""
    try:
        _catalogues().change(access.client(), changes)
    except CatalogueChanged:
        raise Problem("changed", "Somebody else changed the material meanwhile; nothing was done.") from None
    except CatalogueFull:
        fault = FieldError("#", f"a catalogue may have {MOST:,} materials", "wrong_size")
        raise refused([fault]) from None


@dataclass(frozen=True, slots=True)
class TakenIn:
    """What a price list did, by ids: materials that are new, that are others than before, and that stayed."""

    new: Sequence[str]
    changed: Sequence[str]
    unchanged: Sequence[str]


def take_in(file: bytes) -> TakenIn:
    """Keep what a price list says of its materials; others stay. Raises ``Unreadable`` and ``PriceListFaults``."""
    return _taken_in(read_price_list(sheets_of(file, whole_dates=True)))


def take_in_starter_set() -> TakenIn:
    """Keep those materials of the starter set that are not there; whatever is there stays as it is."""
    there = {entry.id for entry in every()}
    said = read_price_list(sheets_of(STARTER_SET.read_bytes()))
    return _taken_in({id_: body for id_, body in said.items() if id_ not in there})


def _taken_in(said: Mapping[str, Json]) -> TakenIn:
    before = fetch([*said])
    new = [id_ for id_ in said if id_ not in before]
    changed = [id_ for id_, body in said.items() if id_ in before and not same(before[id_].body, body)]
    versions = {id_: entry.version for id_, entry in before.items()}
    change(Change(id_, said[id_], versions.get(id_, 0)) for id_ in (*new, *changed))
    return TakenIn(new, changed, [id_ for id_ in before if id_ not in changed])


def found(sought: str, category: Category | None, after: str, most: int) -> tuple[list[Entry], str | None]:
    """Return a page of the materials that have every word of what is sought, and where the next begins.

    A word counts that begins one of id, description, other names or a supplier's code.
    """
    there = [entry for entry in every() if entry.id > after and category in (None, entry.body["category"])]
    fitting = having(there, sought)
    return fitting[:most], fitting[most - 1].id if len(fitting) > most else None


def having(entries: Iterable[Entry], sought: str) -> list[Entry]:
    """Return the materials that have every word of what is sought."""
    words = words_in(sought)
    return [entry for entry in entries if _has(entry, words)]


def _has(entry: Entry, sought: Sequence[str]) -> bool:
    body = entry.body
    codes = [row.get("code") or "" for row in body["stock"]]
    words = words_in(" ".join([entry.id, *names_of(entry), *codes])) if sought else []
    return all(any(word.startswith(each) for word in words) for each in sought)


def names_of(entry: Entry) -> list[str]:
    """Return what a material is called besides its id."""
    return [name for name in (entry.body.get("description", ""), *entry.body.get("also", ())) if name]


def etag_of(entry: Entry) -> str:
    """Return the entity tag of a material as it is."""
    return f"m{entry.version}"


def today() -> date:
    """Return the day whose prices a plan is made with, where this server stands."""
    return datetime.now().astimezone().date()


def filled(body: Mapping[str, Any]) -> Json:
    """Return a request with a copy of each material of the catalogue that it names; what it says itself stays.

    A material that the catalogue has not, or of which nothing is sold yet, stays as it was asked for; its schema
    refuses it.
    """
    given = body.get("materials")
    rows = given if isinstance(given, list) and len(given) <= limits.MATERIALS else []
    named = [row["catalogue"] for row in rows if _names_one(row)]
    if not named:
        return dict(body)
    known, day, units = fetch(named), today(), units_of(body)
    copies = {id_: for_request(entry, day, units) for id_, entry in known.items()}
    return {**body, "materials": [_filled(row, copies) for row in rows]}


def _names_one(row: object) -> bool:
    named = row.get("catalogue") if isinstance(row, Mapping) else None
    return isinstance(named, str) and 0 < len(named) <= limits.ID


def _filled(row: Any, copies: Mapping[str, Json]) -> Any:  # noqa: ANN401 - JSON is anything
    copy = copies.get(row["catalogue"]) if _names_one(row) else None
    if copy is None or not (copy["stock"] or "stock" in row):
        return row
    return {**copy, **row, "catalogue": copy["catalogue"]}


def _catalogues() -> Catalogues:
    return Catalogues(store().redis)


def _unreadable() -> Problem:
    log.error("the catalogue of %s can't be read", access.client())
    return Problem("unreadable", "The catalogue was damaged, or another version kept it.")
