"""The page with the pasted list, as typed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from service.counter.rows import StockForm, stock_fields, texts
from solver.cutlist import ANSWERS


@dataclass(frozen=True, slots=True)
class ListForm(StockForm):
    """The page with the pasted list.

    ``assume`` answers questions about notations, ``same`` says which material a name on the list stands
    for, ``rest`` is the material of lines that name none. ``plan`` is the stored request that it was opened from.
    """

    text: str = ""
    plan: str = ""
    rest: str = ""
    assume: tuple[tuple[str, str], ...] = ()
    same: tuple[tuple[str, str], ...] = ()


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
            lines[place] = given[f"fix:{place + 1}"]
    return "\n".join(lines)
