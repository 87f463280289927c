"""A posted plan to be checked: the request, the plan it reads, and what is answered."""

from __future__ import annotations

from collections.abc import Container, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Any

from service.wire.base import WireSchema
from service.wire.codes import FAULTS
from service.wire.fields import Choice, Code, Flag, Json, Many, One, Words
from service.wire.job import JobSchema
from service.wire.numbers import Number, in_units, plain, ticks
from service.wire.plans.cutting import PlanPartSchema
from service.wire.plans.plan import CostField, CostUnit, ResultSchema
from solver.demand import cost_step
from solver.job import Job, Notice, Supplier
from solver.lengths import Unit
from solver.materials import FactoryEnd, Material
from solver.order import cost_of, new_sticks, order_lines, price_at, reckoning_of
from solver.plan import (
    Bill,
    Cut,
    CutPlan,
    LeftOver,
    MaterialPlan,
    NotCut,
    OrderLine,
    PatternUse,
    Reckoning,
    StoppedBy,
    total_of,
)
from solver.proof import Basis, EndValues, PieceValue, Proof, RunValues, StickValue
from solver.required import Required
from solver.runs import PieceCutOut, Run, RunPiece, lap_cost_of
from solver.sticks import PlacedPiece, StickUse
from solver.walls.appearance import looks_of

Loaded = Mapping[str, Any]


def plan_of(job: Job, data: Loaded) -> CutPlan:
    """Return the plan. Raises ``LookupError`` where it speaks of items or materials that the job has not."""
    materials = {material.id: material for material in job.materials}
    ended = {name: data[name] for name in ("stopped_by",) if name in data}
    short = {job.required[entry["item"]].material for entry in data.get("not_cut", ())}
    parts = tuple(_part(job, materials[entry["material"]], ended | entry, short) for entry in data["materials"])
    order = tuple(line for part in parts for line in order_lines(materials[part.material], part.patterns))
    given = data.get("order")
    if given is not None:
        amounts = {(line.material, line.stock): line.amount for line in order}
        order = tuple(_line(materials[entry["material"]], entry, amounts, given) for entry in given)
    parts = tuple(replace(part, reckoning=_reckoning(materials[part.material], part, order)) for part in parts)
    not_cut = tuple(_not_cut(job, entry) for entry in data.get("not_cut", ()))
    warnings = tuple(_notice(entry) for entry in data.get("warnings", ()))
    bills = _bills(job, parts, order, data)
    named = bills if any(bill.supplier for bill in bills) else ()
    return CutPlan(parts, not_cut, order, warnings, (), Bill.of_all(bills) if bills else None, named)


def _reckoning(material: Material, part: MaterialPlan, order: Sequence[OrderLine]) -> Reckoning | None:
    return reckoning_of(material, part.patterns, [line for line in order if line.material == material.id])


def _bills(job: Job, parts: Sequence[MaterialPlan], order: Sequence[OrderLine], data: Loaded) -> tuple[Bill, ...]:
    """Return what the order of each supplier comes to, and what it is said that none comes to less than."""
    materials = {material.id: material for material in job.materials}
    groups: dict[str, set[str]] = {}
    for part in parts if job.charged else ():
        if part.priced:
            groups.setdefault(materials[part.material].supplier, set()).add(part.material)
    said = data.get("bills") or [data.get("bill") or {}]
    stated = {entry.get("supplier", ""): entry.get("bound", Decimal(0)) for entry in said}
    return tuple(
        _bill(
            job.supplier_of(materials[next(iter(whose))]),
            [line for line in order if line.material in whose],
            [part for part in parts if part.material in whose],
            stated.get(name, Decimal(0)),
        )
        for name, whose in groups.items()
    )


def _bill(supplier: Supplier, lines: Sequence[OrderLine], parts: Sequence[MaterialPlan], bound: Decimal) -> Bill:
    goods = sum((line.amount for line in lines if line.amount is not None), Decimal(0))
    fixed = sum((line.fixed_cost for line in lines), Decimal(0))
    own = sum((part.reckoning.total for part in parts if part.reckoning), Decimal(0))
    once = supplier.order_cost if lines else Decimal(0)
    small = supplier.minimum_order.addition(goods) if supplier.minimum_order else Decimal(0)
    delivery = supplier.delivered(goods) if lines else Decimal(0)
    return Bill(goods, fixed, small, bound, own, once, delivery, supplier.name)


def _part(job: Job, material: Material, data: Loaded, short: Container[str]) -> MaterialPlan:
    """Return a material's plan; with pieces uncut (``short``) and a bound of 0, that fewer can't be is not claimed."""
    patterns = tuple(_pattern(job, entry) for entry in data["patterns"])
    step = cost_step(material)
    cost = _in_steps(data["cost"], job, material, step) if "cost" in data else _cost(material, patterns, step)
    bound = _in_steps(data["bound"], job, material, step) if "bound" in data else 0
    part = MaterialPlan(
        material=material.id,
        settings=material.settings,
        priced=material.priced,
        cost_step=step,
        cost=cost,
        bound=bound,
        least_uncut=material.id not in short or "bound" not in data or bound > 0 or cost == 0,
        proof=_proof(data.get("proof", {"kind": "search", "text": "nothing is claimed"})),
        stopped_by=data.get("stopped_by", StoppedBy.of(proven=cost == bound, exhausted=False, cancelled=False)),
        patterns=patterns,
        runs=tuple(_run(job, entry) for entry in data.get("runs", ())),
    )
    return replace(part, lap_cost=lap_cost_of(part.settings, part.runs), looks=looks_of(job, part))


def _cost(material: Material, patterns: Sequence[PatternUse], step: Decimal) -> int:
    """Return what sticks cut so cost, and what counts beside that."""
    lines = order_lines(material, patterns)
    total = total_of(lines)
    if total is None:
        return cost_of(material, new_sticks(patterns), step)
    own = reckoning_of(material, patterns, lines)
    return int((total + (own.total if own else 0)) / step)


def _in_steps(figure: Decimal, job: Job, material: Material, step: Decimal) -> int:
    return round(figure / step) if material.priced else round(figure * job.units.ticks)


def _proof(data: Loaded) -> Proof:
    values = tuple(PieceValue(**plain(entry)) for entry in data.get("values", ()))
    further = tuple(map(tuple, data.get("further", ())))
    basis = data.get("basis", Basis.SEARCHED)
    return Proof(
        kind=data["kind"],
        scale=data.get("scale", 1),
        values=values,
        text=data.get("text", ""),
        basis=basis,
        further=further,
        grid=ticks(data["grid"]) if data.get("grid") is not None else None,
        runs=tuple(map(_run_values, data.get("runs", ()))),
    )


def _run_values(data: Loaded) -> RunValues:
    ends = (
        EndValues(
            entry["side"],
            tuple(entry.get("stock", ())),
            tuple(entry.get("offcuts", ())),
            tuple((cells, worth) for cells, worth in entry["worth"]),
        )
        for entry in data["ends"]
    )
    sticks = (StickValue(entry.get("stock"), entry.get("offcut"), entry["value"]) for entry in data["sticks"])
    return RunValues(tuple(ends), tuple(sticks))


def _pattern(job: Job, data: Loaded) -> PatternUse:
    source = data["source"]
    return PatternUse(
        stock=source["stock"],
        stock_length=ticks(source["stock_length"]),
        factory_end=source.get("factory_end", FactoryEnd.BOTH if source["stock"] is not None else FactoryEnd.NONE),
        cuts=tuple(Cut(**plain(cut)) for cut in data["cuts"]),
        left_over=LeftOver(**plain(data["left_over"])),
        sticks=tuple(_stick(job, stick) for stick in data["sticks"]),
    )


def _stick(job: Job, data: Loaded) -> StickUse:
    pieces = tuple(
        PlacedPiece(
            piece["item"], piece.get("mark", job.required[piece["item"]].mark), piece.get("course"), piece["piece"]
        )
        for piece in data["pieces"]
    )
    return StickUse(data["stick"], data.get("offcut_id"), pieces)


def _run(job: Job, data: Loaded) -> Run:
    item = job.required[data["item"]]
    laps = tuple(ticks(place) for place in data["laps_at"])
    sides = data["on_top"] * len(laps) if len(data["on_top"]) == 1 else data["on_top"]
    pieces = tuple(RunPiece(**plain(piece)) for piece in data["pieces"])
    return Run(
        item=data["item"],
        mark=item.mark,
        wall=item.wall,
        course=data.get("course"),
        lap=ticks(data["lap"]),
        end_gap=ticks(data["end_gap"]),
        starts_at=ticks(data["starts_at"]),
        pieces=pieces,
        laps_at=laps,
        on_top=sides,
        cut_outs=_cut_outs(item, data),
    )


def _cut_outs(item: Required, data: Loaded) -> tuple[PieceCutOut, ...]:
    return tuple(
        PieceCutOut(
            entry["piece"], ticks(entry["from_left"]), ticks(entry["from_right"]), item.cut_outs[entry["cut_out"]]
        )
        for entry in data.get("cut_outs", ())
    )


def _not_cut(job: Job, data: Loaded) -> NotCut:
    return NotCut(data["item"], job.required[data["item"]].mark, data["quantity"], data["code"], data.get("detail", ""))


def _line(
    material: Material, data: Loaded, amounts: Mapping[tuple[str, str], Decimal | None], order: Sequence[Loaded]
) -> OrderLine:
    row = next((row for row in material.stock if row.id == data["stock"]), None)
    if row is None:
        raise LookupError(f"the order speaks of {data['stock']}, which {material.id} has not")
    counts = (data["sticks"], data["spares"], data["cartons"], data["loose"])
    amount = data.get("amount", amounts.get((material.id, row.id)))
    every = sum(entry["sticks"] + entry["spares"] for entry in order if entry["material"] == material.id)
    price = price_at(row, data["sticks"] + data["spares"], every)
    return OrderLine(
        material.id, row.id, row.length, row.code, *counts, price, amount, row.fixed_cost, material.supplier,
        row.wait_days,
    )  # fmt: skip


def _notice(data: Loaded) -> Notice:
    return Notice(**{"detail": "", **plain(data)})


_POINTER = "Which part of the body, as a JSON pointer."


class PlanCheckSchema(WireSchema):
    """A request for a cut plan, and a plan for it."""

    request = One("The request.", JobSchema, required=True)
    plan = One(
        "The plan, in the shape of a result. Less than a result may be sent: what is stated is checked, what is left "
        "out is worked out.",
        ResultSchema, required=True,
    )  # fmt: skip


class FaultSchema(WireSchema):
    """One thing that is wrong with a plan."""

    code = Code("What it is.", FAULTS)
    pointer = Words(_POINTER)
    detail = Words("What was needed and what was found.")


class VerifiedSchema(WireSchema):
    """A part of a plan that was, or was not, verified."""

    pointer = Words(_POINTER)
    detail = Words("What of it, and how.")


@dataclass(frozen=True, slots=True)
class Distance:
    """A material's plan, and what no plan of it costs less than, in its cost steps; None where that is not known."""

    part: MaterialPlan
    bound: int | None

    @property
    def material(self) -> str:
        """Which material, by id."""
        return self.part.material

    @property
    def priced(self) -> bool:
        """Whether its cost is money."""
        return self.part.priced

    @property
    def cost_step(self) -> Decimal:
        """What one step of cost is."""
        return self.part.cost_step

    @property
    def cost(self) -> int:
        """What the plan costs."""
        return self.part.cost

    @property
    def above(self) -> int | None:
        """How much that is above the bound."""
        return None if self.bound is None else self.cost - self.bound

    @property
    def above_percent(self) -> float | None:
        """The same in per cent of the bound; None too where that is 0."""
        return round(100 * self.above / self.bound, 2) if self.bound and self.above is not None else None


class DistanceSchema(PlanPartSchema):
    """How far the plan of a material is from what no plan costs less than, as that was worked out here."""

    material = Words("Which material, by id.")
    cost = CostField("What the plan costs.")
    cost_unit = Choice(
        "`money` where the stock has prices, in their currency; else `length`.",
        CostUnit, of=CostUnit.of,
    )  # fmt: skip
    bound = CostField(
        "What no plan costs less than, whatever the plan claims; null where pieces stay uncut that a stick could hold. "
        "It is worked out quickly, so that the cheapest plan may cost more.", allow_none=True,
    )  # fmt: skip
    above = CostField("How much the plan costs above that, at most more than it must.", allow_none=True)
    above_percent = Number("The same in per cent of the bound; null where that is 0.", allow_none=True)


class CheckedSchema(WireSchema):
    """What the checker finds of a plan."""

    right = Flag(
        "True where everything was verified, false where anything is wrong, null where nothing was found wrong but not "
        "everything could be verified.",
        allow_none=True,
    )
    faults = Many("Everything that is wrong.", FaultSchema)
    verified = Many("What was verified.", VerifiedSchema)
    unverified = Many("What could not be verified.", VerifiedSchema)
    waste_percent = Number("What its sticks waste, as in a result.")
    distances = Many("How far it is from what no plan costs less than, material by material.", DistanceSchema)


_DISTANCE = DistanceSchema()


def render_distances(distances: Sequence[Distance], units: Unit) -> list[Json]:
    """Return how far the plans of materials are from their bounds."""
    with in_units(units):
        return [_DISTANCE.dump(one) for one in distances]
