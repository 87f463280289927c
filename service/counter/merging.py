"""What the page shows of a request, merged with what it does not show: that stays as it was.

The page as it was opened and the page as it was sent back are made into requests the same way, and where those two
differ, the request behind the page is changed.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from service.counter.form import place_of

Json = dict[str, Any]
_ABSENT = object()


@dataclass(frozen=True, slots=True)
class Opened:
    """A material behind the page, as a request says it and as the page says it when nothing was changed."""

    request: Json
    shown: Json


def changed(stored: Json, shown: Mapping[str, Any], told: Mapping[str, Any]) -> Json:
    """Return a stored object with what differs between how it was shown and how it was sent back."""
    other = {name for name in {**shown, **told} if shown.get(name, _ABSENT) != told.get(name, _ABSENT)}
    kept = {name: value for name, value in stored.items() if name not in other}
    return kept | {name: told[name] for name in other if name in told}


def merged(behind: Opened, told: Json, stock_of: Sequence[str]) -> Json:
    """Return a material with what was changed; ``stock_of`` says which stock length behind each of those told is."""
    stored, shown = behind.request, behind.shown
    places = [place_of(place, stored["stock"]) for place in stock_of]
    taken = {stored["stock"][place]["id"] for place in places if place is not None}
    stock = []
    for place, row in zip(places, told["stock"], strict=True):
        if place is None:
            kept = {**row, "id": free_name(row["id"], taken)}
        else:
            kept = changed(stored["stock"][place], {**shown["stock"][place], "id": row["id"]}, row)
        taken.add(kept["id"])
        stock.append(kept)
    return {**changed(stored, {**shown, "stock": ()}, {**told, "stock": ()}), "stock": stock}


def free_name(name: str, taken: set[str]) -> str:
    """Return a name that is not taken: itself, else with a number."""
    numbered = (f"{name} ({number})" for number in range(2, len(taken) + 3))
    return name if name not in taken else next(other for other in numbered if other not in taken)
