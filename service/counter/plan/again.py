"""What a plan's buttons plan instead: each turns its job into another one, nothing else."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace

from service.alternatives import alone
from service.counter.form import place_of, whole_of
from service.counter.merging import free_name
from service.counter.request import Fault, Refused, feet_meant
from service.http.problems import Problem
from service.wire import limits
from service.wire.materials.material import read_stock
from solver.job import Job, Wall
from solver.materials import Material, StockLength
from solver.plan import CutPlan
from solver.required import Required

LONGER = 60.0
"""Seconds for those who want to look for longer."""
MOST_COPIES = 50
Fields = Mapping[str, str]
Known = Callable[[str, str], int | None]
"""How many there were of a material's stock, by their ids, before any button said otherwise; None: no limit."""


@dataclass(frozen=True, slots=True)
class Press:
    """A button pressed beside a material: the job, the material's place, a stock length, and what was typed there."""

    job: Job
    place: int
    stock: str
    given: Fields
    known: Known

    @property
    def material(self) -> Material:
        """The material that it stands beside."""
        return self.job.materials[self.place]


def other_job(job: Job, plan: CutPlan | None, button: str, given: Fields, known: Known) -> Job | None:
    """Return the job after a button, ``what`` or ``what:place:stock``; None where there is no such button.

    Raises ``Refused`` where what was typed beside the button is none.
    """
    job = job.as_asked
    what, _, where = button.partition(":")
    if what == "longer":
        return replace(job, seconds=LONGER)
    if what == "copy":
        return copied(job, plan, _copies(given))
    told, _, stock = where.partition(":")
    place = place_of(told, job.materials)
    if what not in _OF_STOCK or place is None:
        return None
    materials = list(job.materials)
    rows = _OF_STOCK[what](Press(job, place, stock, given, known))
    materials[place] = replace(materials[place], stock=tuple(rows))
    return replace(job, materials=tuple(materials))


def _there(press: Press, count: int | None) -> Iterator[StockLength]:
    for row in press.material.stock:
        yield replace(row, available=count) if row.id == press.stock else row


def _out(press: Press) -> Iterator[StockLength]:
    if all(row.available == 0 for row in press.material.stock if row.id != press.stock):
        words = f"That is the only length there is of {press.material.id}: what is there instead?"
        raise Refused((Fault(f"instead-{press.place}-length", words),))
    return _there(press, 0)


def _back(press: Press) -> Iterator[StockLength]:
    return _there(press, press.known(press.material.id, press.stock))


def _short(press: Press) -> Iterator[StockLength]:
    """Only so many are there."""
    return _there(press, _count(press, 0, limits.STICKS_AT_HAND, "How many are there?"))


def _carton(press: Press) -> Iterator[StockLength]:
    """So many come in a carton."""
    count = _count(press, 1, limits.CARTON, "How many are in a carton?")
    return (replace(row, carton=count) if row.id == press.stock else row for row in press.material.stock)


def _count(press: Press, least: int, most: int, question: str) -> int:
    """Return the number typed beside a stock length. Raises ``Refused`` where it is none."""
    count = whole_of(press.given.get("there", "").strip(), least, most)
    if count is not None:
        return count
    at = next((n for n, row in enumerate(press.material.stock) if row.id == press.stock), 0)
    raise Refused((Fault(f"there-{press.place}-{at}", f"{question} Write a whole number."),))


def _alone(press: Press) -> Iterator[StockLength]:
    """Use this length and no other."""
    return iter(alone(press.material, press.stock).stock)


def _instead(press: Press) -> Iterator[StockLength]:
    """Buy a length that was not on the list, and no other."""
    yield _new_row(press)
    yield from (replace(row, available=0) for row in press.material.stock)


def _also(press: Press) -> Iterator[StockLength]:
    """Buy a length that was not on the list where it helps."""
    yield from press.material.stock
    yield _new_row(press)


_OF_STOCK: Mapping[str, Callable[[Press], Iterator[StockLength]]] = {
    "out": _out, "back": _back, "short": _short, "carton": _carton, "alone": _alone, "instead": _instead, "also": _also,
}  # fmt: skip


def _new_row(press: Press) -> StockLength:
    job, material, fields = press.job, press.material, f"instead-{press.place}"
    length, price = press.given.get("length", "").strip(), press.given.get("price", "").strip(" $€£")
    if doubt := feet_meant(length, job.units):
        raise Refused((Fault(f"{fields}-length", doubt),))
    if material.priced and not price:
        raise Refused((Fault(f"{fields}-price", "What does it cost? The other lengths have prices."),))
    body = {"id": free_name(length[:50] or "?", {row.id for row in material.stock}), "length": length}
    try:
        return read_stock(body | ({"price": price} if material.priced else {}), job.units)
    except Problem as problem:
        faults = (Fault(f"{fields}-{it.pointer.rpartition('/')[2]}", it.detail) for it in problem.errors)
        raise Refused(tuple(faults)) from None


def _copies(given: Fields) -> int:
    times = whole_of(given.get("times", "").strip(), 1, MOST_COPIES)
    if times is None:
        raise Refused((Fault("times", f"How many times? Write a number from 1 to {MOST_COPIES}."),))
    return times


def copied(job: Job, plan: CutPlan | None, times: int) -> Job:
    """Return a job for the same list so many times; offcuts that the plan uses are not there for it.

    What hangs on walls is asked for wall by wall: a course has room for one run.
    """
    required = [_times(item, times) if item.wall is None else item for item in job.required]
    walls = list(job.walls)
    for number in range(2, times + 1):
        walls += [Wall(_numbered(wall.id, number), wall.viewed_from) for wall in job.walls]
        required += [replace(item, wall=_numbered(item.wall, number)) for item in job.required if item.wall is not None]
    if sum(item.pieces for item in required) > limits.PIECES or len(required) > limits.LINES:
        raise Refused((Fault("times", "So many times are more pieces than one plan may have."),))
    used = Counter(stick.offcut_id for part in plan.materials for _, stick in part.sticks()) if plan else Counter()
    left = ((cut, cut.quantity - used[cut.id]) for cut in job.offcuts)
    offcuts = tuple(replace(cut, quantity=count) for cut, count in left if count > 0)
    goods = tuple(replace(good, quantity=good.quantity * times) for good in job.goods)
    return replace(job, required=tuple(required), walls=tuple(walls), offcuts=offcuts, goods=goods)


def _times(item: Required, times: int) -> Required:
    return replace(item, quantity=item.quantity * times)


def _numbered(name: str, number: int) -> str:
    return f"{name[: limits.ID - 5]} ({number})"
