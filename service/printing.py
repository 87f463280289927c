"""The order and the cut sheet as plain text, for a terminal or a printer at the yard."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from service.documents.words import left_over, no_total
from service.rendering.basis import in_a_word
from service.wire.fields import money
from solver.job import Job
from solver.lengths import say
from solver.materials import Category
from solver.order import cartons_of
from solver.plan import CutPlan, MaterialPlan, OrderLine, PatternUse, Run

_PANELS = (Category.SIDING, Category.SOFFIT)


def sheet(job: Job, plan: CutPlan) -> str:
    """Return what to order, how to cut it, and what the reader must know."""
    parts = [[job.name] if job.name else [], list(_order(job, plan))]
    parts += [list(_cuts(job, part)) for part in plan.materials if part.patterns]
    parts += [list(_hung(job, part)) for part in plan.materials if part.runs]
    parts += [list(_not_cut(job, plan)), [f"Note: {notice.detail}" for notice in plan.warnings], list(plan.cautions)]
    return "\n\n".join("\n".join(part) for part in parts if part)


def noun(job: Job, material: str, count: int) -> str:
    """Return what a stick of this material is called: a panel where it is siding or soffit."""
    panel = any(known.id == material and known.category in _PANELS for known in job.materials)
    return ("panel" if panel else "stick") + ("" if count == 1 else "s")


def _order(job: Job, plan: CutPlan) -> Iterator[str]:
    yield "TO ORDER"
    rows = [_order_row(job, line) for line in plan.order] or [[f"nothing: {why_nothing(plan)}"]]
    if plan.order and plan.order_total is not None:
        rows.append(["", "", "", "", "", f"total {money(plan.order_total)}"])
    yield from columns(rows)
    if why := no_total(plan.order):
        yield f"  {why}"


def why_nothing(plan: CutPlan) -> str:
    """Return why an order is empty."""
    if not plan.not_cut:
        return "what is on hand is enough"
    if any(part.patterns for part in plan.materials):
        return "what is on hand gives all that can be cut from these lengths"
    return "none of this can be cut from these lengths"


def _order_row(job: Job, line: OrderLine) -> list[str]:
    spares = f"{line.spares} of them spare" if line.spares else ""
    packs = [f"{line.cartons} carton{'s' * (line.cartons > 1)}"] * bool(line.cartons)
    packs += [f"{line.loose} loose"] * bool(line.loose)
    bought = f"{line.sticks + line.spares} {noun(job, line.material, line.sticks + line.spares)}"
    code = f" ({line.code})" if line.code else ""
    length, amount = say(line.length, job.units), money(line.amount) or ""
    return [line.material + code, length, bought, " + ".join(packs), spares, amount]


def _cuts(job: Job, plan: MaterialPlan) -> Iterator[str]:
    bought = f"{plan.new_sticks} {noun(job, plan.material, plan.new_sticks)}"
    yield f"TO CUT: {plan.material}, {bought}; {_quality(job, plan)}"
    yield from columns([_cut_row(job, use) for use in plan.patterns])


def _quality(job: Job, plan: MaterialPlan) -> str:
    lengths = left_over(job, plan)
    least = f"no plan {'costs' if plan.priced else 'buys'} less"
    bound = plan.bound * plan.cost_step
    if not bound and not plan.proven:
        return f"{lengths}; no lower bound known"
    than = f" than {money(bound) if plan.priced else say(int(bound), job.units)}"
    basis = in_a_word(plan.proof.basis)
    claim = f"proven {basis}: {least}" if plan.proven else f"{least}{than} {basis}"
    return f"{lengths}; {claim}{_reckoned(job, plan)}"


def _reckoned(job: Job, plan: MaterialPlan) -> str:
    """Return what a bound does not speak of: cartons come to more, or less, than the sticks in them."""
    material = next(known for known in job.materials if known.id == plan.material)
    cartons = cartons_of(material)
    if not cartons:
        return ""
    how = "by the price of" if plan.priced else "counted in"
    return f" {how} single {noun(job, plan.material, 2)}; cartons are {cartons} in the order"


def _cut_row(job: Job, use: PatternUse) -> list[str]:
    first, last = use.sticks[0].stick, use.sticks[-1].stick
    names = first if use.count == 1 else f"{first} to {last}"
    source = say(use.stock_length, job.units) + ("" if use.stock else " on hand")
    marks = [",".join(sorted({stick.pieces[place].mark for stick in use.sticks})) for place in range(len(use.cuts))]
    cuts = [f"{say(cut.length, job.units)} ({mark})" for cut, mark in zip(use.cuts, marks, strict=True)]
    left = use.left_over
    rest = f"{'keep' if left.keep else 'scrap'} {say(left.length, job.units)}" if left.length else "no offcut"
    return [names, f"{use.count} x {source}", "  ".join(cuts), rest]


def _hung(job: Job, plan: MaterialPlan) -> Iterator[str]:
    """Yield each course from the left: the pieces with their sticks, and where the laps fall along the wall."""
    yield f"TO HANG: {plan.material}, each course from the left"
    yield from columns([_course(job, run) for run in plan.runs])


def _course(job: Job, run: Run) -> list[str]:
    where = f"{run.wall or run.mark}, course {run.course}" if run.course else run.wall or run.mark
    pieces = "  ".join(f"{say(piece.length, job.units)} ({piece.stick})" for piece in run.pieces)
    laps = ", ".join(say(place, job.units) for place in run.laps_at)
    return [where, run.mark, pieces, f"laps at {laps}" if laps else ""]


def _not_cut(job: Job, plan: CutPlan) -> Iterator[str]:
    if plan.not_cut:
        yield "NOT CUT"
    for entry in plan.not_cut:
        pieces, length = "piece" + "s" * (entry.quantity > 1), say(job.required[entry.item].length, job.units)
        yield f"  mark {entry.mark}: {entry.quantity} {pieces} of {length}: {entry.detail}"


def columns(rows: Sequence[Sequence[str]]) -> Iterator[str]:
    """Yield rows as lines, each column as wide as its widest cell."""
    count = max((len(row) for row in rows), default=0)
    widths = [max(len(row[i]) for row in rows if i < len(row)) for i in range(count)]
    for row in rows:
        yield ("  " + "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=False))).rstrip()
