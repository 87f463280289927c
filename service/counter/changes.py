"""What the buttons of the form do, but Plan: each turns the form as typed into the form as shown next."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import TypeVar

from service.counter.form import CounterForm, MaterialRow, OffcutRow, StockRow
from service.schemas import limits
from solver.materials import Category

Row = TypeVar("Row")
_KINDS = {
    "soffit": Category.SOFFIT, "starter": Category.STARTER, "post": Category.POST, "corner": Category.POST,
    "channel": Category.CHANNEL, "trim": Category.CHANNEL, "cap": Category.OTHER, "fascia": Category.OTHER,
}  # fmt: skip
"""Words of a name and the category they speak for."""


def changed(form: CounterForm, button: str) -> CounterForm:
    """Return the form after a button, ``what`` or ``what:where``, was pressed; unknown ones change nothing."""
    what, _, where = button.partition(":")
    change = _CHANGES.get(what)
    return change(form, where) if change else form


def category_of(name: str) -> Category:
    """Return the category that a material's name speaks for."""
    lowered = name.lower()
    return next((kind for word, kind in _KINDS.items() if word in lowered), Category.SIDING)


def _add_material(form: CounterForm, name: str) -> CounterForm:
    if len(form.materials) >= limits.MATERIALS:
        return form
    named = name[: limits.ID - 4]
    return replace(form, materials=(*form.materials, MaterialRow(named, category_of(named))))


def _drop_material(form: CounterForm, where: str) -> CounterForm:
    left = _without(form.materials, where)
    return replace(form, materials=left) if left else replace(form, materials=(MaterialRow(),))


def _add_stock(form: CounterForm, where: str) -> CounterForm:
    rows = [
        replace(row, stock=(*row.stock, StockRow())) if str(place) == where else row
        for place, row in enumerate(form.materials)
    ]
    return replace(form, materials=tuple(rows))


def _drop_stock(form: CounterForm, where: str) -> CounterForm:
    material, _, row = where.partition("-")
    rows = [
        replace(kept, stock=_without(kept.stock, row) or (StockRow(),)) if str(place) == material else kept
        for place, kept in enumerate(form.materials)
    ]
    return replace(form, materials=tuple(rows))


def _add_offcut(form: CounterForm, where: str) -> CounterForm:
    del where
    return replace(form, offcuts=(*form.offcuts, OffcutRow()))


def _drop_offcut(form: CounterForm, where: str) -> CounterForm:
    return replace(form, offcuts=_without(form.offcuts, where))


def _same(form: CounterForm, where: str) -> CounterForm:
    """Let a name of the list stand for a material: ``where`` is the material's place and the name."""
    place, _, name = where.partition(":")
    if not (place.isdigit() and int(place) < len(form.names)):
        return form
    return replace(form, same=(*_others(form, name), (name, form.names[int(place)])))


def _not_same(form: CounterForm, name: str) -> CounterForm:
    return replace(form, same=_others(form, name))


def _others(form: CounterForm, name: str) -> tuple[tuple[str, str], ...]:
    return tuple(pair for pair in form.same if pair[0] != name)


def _rest(form: CounterForm, name: str) -> CounterForm:
    return replace(form, rest=name)


def _leave_out(form: CounterForm, where: str) -> CounterForm:
    """Strike a line out, or put it back."""
    lines = form.text.split("\n")
    if where.isdigit() and 0 < int(where) <= len(lines):
        line = lines[int(where) - 1]
        lines[int(where) - 1] = line.removeprefix("// ") if line.startswith("//") else f"// {line}"
    return replace(form, text="\n".join(lines))


def _without(rows: tuple[Row, ...], where: str) -> tuple[Row, ...]:
    return tuple(row for place, row in enumerate(rows) if str(place) != where)


_CHANGES: dict[str, Callable[[CounterForm, str], CounterForm]] = {
    "add-material": _add_material, "drop-material": _drop_material, "add-stock": _add_stock, "drop-stock": _drop_stock,
    "add-offcut": _add_offcut, "drop-offcut": _drop_offcut, "same": _same, "not-same": _not_same, "rest": _rest,
    "leave-out": _leave_out,
}  # fmt: skip
