"""What the buttons in a form do: each turns the form as typed into the form as shown next."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from typing import Any, TypeVar

from service.counter.form import ListForm, MaterialRow, OffcutRow, StockForm, StockRow, place_of, whole_of
from service.wire import limits
from solver.categories import Category

Row = TypeVar("Row")
Form = TypeVar("Form", bound=StockForm)
Change = Callable[[Any, str], Any]
_WORD = re.compile(r"[a-z]+(?:-channel)?")


def category_of(name: str) -> Category:
    """Return the category that a material's name speaks for: of its words the last that tells, letters after all."""
    said = sorted(_WORD.findall(name.lower()), key=lambda word: len(word) > 1)
    of = {word: category for category in Category for word in category.kind.spoken.split()}
    return next((of[word] for word in reversed(said) if word in of), Category.SIDING)


def _add_material(form: Form, name: str) -> Form:
    if len(form.materials) >= limits.MATERIALS:
        return form
    named = name[: limits.ID - 4]
    return replace(form, materials=(*form.materials, MaterialRow(named, category_of(named))))


def _drop_material(form: Form, where: str) -> Form:
    """Take out a material with what is left over of it; those behind it move up."""
    left = without(form.materials, where) or (MaterialRow(),)
    kept = tuple(_moved_up(row, where) for row in form.offcuts if (row.material or "0") != where)
    return replace(form, materials=left, offcuts=kept)


def _moved_up(row: OffcutRow, where: str) -> OffcutRow:
    place, gone = (whole_of(text, 0, limits.MATERIALS) for text in (row.material, where))
    behind = place is not None and gone is not None and place > gone
    return replace(row, material=str((place or 0) - 1)) if behind else row


def _add_stock(form: Form, where: str) -> Form:
    rows = [
        replace(row, stock=(*row.stock, StockRow())) if str(place) == where else row
        for place, row in enumerate(form.materials)
    ]
    return replace(form, materials=tuple(rows))


def _drop_stock(form: Form, where: str) -> Form:
    material, _, row = where.partition("-")
    rows = [
        replace(kept, stock=without(kept.stock, row) or (StockRow(),)) if str(place) == material else kept
        for place, kept in enumerate(form.materials)
    ]
    return replace(form, materials=tuple(rows))


def _add_offcut(form: Form, where: str) -> Form:
    del where
    return replace(form, offcuts=(*form.offcuts, OffcutRow()))


def _drop_offcut(form: Form, where: str) -> Form:
    return replace(form, offcuts=without(form.offcuts, where))


def without(rows: tuple[Row, ...], where: str) -> tuple[Row, ...]:
    """Return the rows but the one at a place, counted from 0."""
    return tuple(row for place, row in enumerate(rows) if str(place) != where)


def _say_length(form: Form, where: str) -> Form:
    """Write a stock length with its unit: ``where`` is its material, its place there, and the length."""
    material, _, rest = where.partition("-")
    row, _, length = rest.partition("-")
    rows = [
        replace(kept, stock=tuple(_with_length(stock, length, str(at) == row) for at, stock in enumerate(kept.stock)))
        if str(place) == material
        else kept
        for place, kept in enumerate(form.materials)
    ]
    return replace(form, materials=tuple(rows))


def _with_length(stock: StockRow, length: str, meant: bool) -> StockRow:
    return replace(stock, length=length) if meant else stock


STOCK_CHANGES: dict[str, Change] = {
    "say-length": _say_length,
    "add-material": _add_material, "drop-material": _drop_material, "add-stock": _add_stock, "drop-stock": _drop_stock,
    "add-offcut": _add_offcut, "drop-offcut": _drop_offcut,
}  # fmt: skip
"""Every button by its name; it is told what stands behind the name's colon."""


def changed(form: Form, button: str, changes: dict[str, Change]) -> Form:
    """Return the form after a button, ``what`` or ``what:where``, was pressed; unknown ones change nothing."""
    what, _, where = button.partition(":")
    after: Form = changes[what](form, where) if what in changes else form
    return after


def _same(form: ListForm, where: str) -> ListForm:
    """Let a name of the list stand for a material: ``where`` is the material's place and the name."""
    place, _, name = where.partition(":")
    at = place_of(place, form.names)
    return form if at is None else replace(form, same=(*_others(form, name), (name, form.names[at])))


def _not_same(form: ListForm, name: str) -> ListForm:
    """Ask again what a name stands for: that there is no answer is said too, so that none is found for it."""
    return replace(form, same=(*_others(form, name), (name, "")))


def _others(form: ListForm, name: str) -> tuple[tuple[str, str], ...]:
    return tuple(pair for pair in form.same if pair[0] != name)


def _rest(form: ListForm, name: str) -> ListForm:
    return replace(form, rest=name)


def _leave_out(form: ListForm, where: str) -> ListForm:
    """Strike a line out, or put it back."""
    lines = form.text.split("\n")
    if at := whole_of(where, 1, len(lines)):
        line = lines[at - 1]
        lines[at - 1] = line.removeprefix("// ") if line.startswith("//") else f"// {line}"
    return replace(form, text="\n".join(lines))


LIST_CHANGES: dict[str, Change] = {
    **STOCK_CHANGES, "same": _same, "not-same": _not_same, "rest": _rest, "leave-out": _leave_out,
}  # fmt: skip
"""Every button by its name."""
