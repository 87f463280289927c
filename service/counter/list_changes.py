"""What the buttons of the page with the list do."""

from __future__ import annotations

from dataclasses import replace

from service.counter.list_form import ListForm
from service.counter.stock_changes import STOCK_CHANGES, Change


def _same(form: ListForm, where: str) -> ListForm:
    """Let a name of the list stand for a material: ``where`` is the material's place and the name."""
    place, _, name = where.partition(":")
    if not (place.isdigit() and int(place) < len(form.names)):
        return form
    return replace(form, same=(*_others(form, name), (name, form.names[int(place)])))


def _not_same(form: ListForm, name: str) -> ListForm:
    return replace(form, same=_others(form, name))


def _others(form: ListForm, name: str) -> tuple[tuple[str, str], ...]:
    return tuple(pair for pair in form.same if pair[0] != name)


def _rest(form: ListForm, name: str) -> ListForm:
    return replace(form, rest=name)


def _leave_out(form: ListForm, where: str) -> ListForm:
    """Strike a line out, or put it back."""
    lines = form.text.split("\n")
    if where.isdigit() and 0 < int(where) <= len(lines):
        line = lines[int(where) - 1]
        lines[int(where) - 1] = line.removeprefix("// ") if line.startswith("//") else f"// {line}"
    return replace(form, text="\n".join(lines))


LIST_CHANGES: dict[str, Change] = {
    **STOCK_CHANGES, "same": _same, "not-same": _not_same, "rest": _rest, "leave-out": _leave_out,
}  # fmt: skip
"""Every button by its name."""
