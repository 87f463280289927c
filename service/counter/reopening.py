"""The form that a planned job could have come from, to change its list and plan again."""

from __future__ import annotations

from decimal import Decimal

from service.counter.list_form import ListForm
from service.counter.rows import MaterialRow, OffcutRow, StockRow
from solver.cutlist import write_cut_list
from solver.job import Job
from solver.lengths import Unit, say
from solver.materials import DEFAULTS, FactoryEnd, Material, StockLength

_ALLOWANCES = ("lap", "end_gap", "kerf", "shortest_piece", "keep_offcuts_from")


def can_reopen(job: Job) -> bool:
    """Whether a list says all of the job: walls and sloped ends are more than a list can say."""
    return not any(
        item.wall or item.first_course or item.left_end.slope or item.right_end.slope for item in job.required
    )


def form_of(job: Job) -> ListForm:
    """Return the form for a job; marks are written in brackets, and each piece under its material."""
    return ListForm(
        text=write_cut_list(job.required, job.units),
        units=job.units,
        job=job.name,
        materials=tuple(_material(material, job.units) for material in job.materials),
        offcuts=tuple(
            OffcutRow(say(cut.length, job.units), str(cut.quantity), cut.material, cut.id, _factory(cut.factory_end))
            for cut in job.offcuts
        ),
    )


def _factory(end: FactoryEnd) -> str:
    return "" if end is FactoryEnd.NONE else str(end)


def _material(material: Material, unit: Unit) -> MaterialRow:
    usual, own = DEFAULTS[material.category], material.settings
    typed = {
        name: "none" if (value := getattr(own, name)) is None else say(value, unit)
        for name in _ALLOWANCES
        if getattr(own, name) != getattr(usual, name)
    }
    if own.lap_ends != usual.lap_ends:
        typed["lap_ends"] = str(own.lap_ends)
    if own.spare_percent:
        typed["spare_percent"] = _plain(own.spare_percent)
    return MaterialRow(
        material.id, material.category, stock=tuple(_stock(row, unit) for row in material.stock), **typed
    )


def _stock(row: StockLength, unit: Unit) -> StockRow:
    price = "" if row.price is None else _plain(row.price)
    return StockRow(say(row.length, unit), row.code or "", price, str(row.carton or ""), row.available == 0)


def _plain(amount: Decimal) -> str:
    return f"{amount:f}"
