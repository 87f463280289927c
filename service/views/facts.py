"""The facts of a plan in words, said once for the page, the sheets, the drawings and the command."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from decimal import Decimal

from service.drawing.lettering import clean, taped
from service.views.waste import lap_length
from service.wire.numbers import money
from solver.job import Job
from solver.lengths import Unit, say
from solver.materials import FactoryEnd, Material
from solver.plan import Bill, CutPlan, MaterialPlan, OrderLine, PatternUse, StoppedBy, unpriced_in
from solver.proof import Basis
from solver.runs import BreachCode
from solver.sticks import alike
from workers.orders.company import Company

LOT = "One lot number, please: panels of another lot may not match in colour."
CALLED_OFF = "This order is called off: pull and cut nothing."
MEASURE = "Measure one of each length before cutting: nominal and actual lengths often differ."


def material_of(job: Job, id_: str) -> Material:
    """Return a material of the job."""
    return next(material for material in job.materials if material.id == id_)


def called(material: Material) -> str:
    """Return a material's id and description as one name."""
    return clean(f"{material.id}, {material.description}" if material.description else material.id)


def counted(material: Material, count: int) -> str:
    """Return so many sticks of a material, as ``6 panels``."""
    return f"{count} {material.category.kind.noun(count)}"


def to_cut(material: Material, part: MaterialPlan) -> str:
    """Return what the cuts are made in, as ``6 panels and 1 offcut``."""
    offcuts = sum(use.count for use in part.patterns if use.stock is None)
    on_hand = [f"{offcuts} offcut{'s' * (offcuts > 1)} on hand"] * bool(offcuts)
    return " and ".join([*[counted(material, part.new_sticks)] * bool(part.new_sticks or not offcuts), *on_hand])


def bought(job: Job, line: OrderLine) -> str:
    """Return what one line of an order buys, spares included."""
    return counted(material_of(job, line.material), line.sticks + line.spares)


def suppliers_of(lines: Iterable[OrderLine]) -> list[str]:
    """Return of whom an order's lines are, each once; one that nobody names where there are none."""
    return list(dict.fromkeys(line.supplier for line in lines)) or [""]


def bought_sticks(plan: CutPlan) -> int:
    """Return how many sticks an order buys, spares included."""
    return sum(line.sticks + line.spares for line in plan.order)


def bought_length(plan: CutPlan) -> int:
    """Return the length of all new sticks that a plan cuts, in ticks."""
    return sum(part.bought_length for part in plan.materials)


def packed(line: OrderLine) -> str:
    """Return how a line comes: whole cartons and loose sticks, how many are spare, and how long it takes."""
    parts = [f"{line.cartons} carton{'s' * (line.cartons > 1)}"] * bool(line.cartons)
    parts += [f"{line.loose} loose"] * bool(line.loose)
    spare = f", {line.spares} of them spare" if line.spares else ""
    wait = f"; special order, {line.wait_days} day{'s' * (line.wait_days > 1)}" if line.wait_days else ""
    return " and ".join(parts) + spare + wait


def each(line: OrderLine) -> str:
    """Return the prices that a line's amount is made of: of a loose stick, and of a carton that is not its sticks'."""
    carton, stick = money(line.carton_price), money(line.unit_price)
    if carton is None or stick is None or line.amount == (line.sticks + line.spares) * (line.unit_price or 0):
        return stick or ""
    return ", ".join([stick] * bool(line.loose) + [f"carton {carton}"])


def totals_of(plan: CutPlan, company: Company) -> list[tuple[str, str]]:
    """Return what stands below an order: its total, or what it comes to with the tax in between."""
    total = plan.order_total
    if total is None or not plan.order:
        return []
    fixed = sum((line.fixed_cost for line in plan.order), Decimal(0))
    charges = [("Charges by length", fixed)] * bool(fixed) + (charges_of(plan.bill) if plan.bill else [])
    goods = total - sum(amount for _, amount in charges)
    sums = [(name, money(amount) or "") for name, amount in charges]
    sums = [("Goods", money(goods) or ""), *sums] if sums else []
    if not company.tax_percent:
        return [*sums, ("Total", money(total) or "")]
    tax = company.tax_on(total)
    named = f"{clean(company.tax_name)} {company.tax_percent.normalize():f} %"
    return [*sums, ("Before tax", money(total) or ""), (named, money(tax) or ""), ("Total", money(total + tax) or "")]


def charges_of(bill: Bill) -> list[tuple[str, Decimal]]:
    """Return what a bill charges beside the lines of its order, each by its name."""
    once = ("Small order", bill.small_order), ("Order charge", bill.order_cost), ("Delivery", bill.delivery)
    return [(name, amount) for name, amount in once if amount]


def compared(before: tuple[Job, CutPlan], now: tuple[Job, CutPlan], number: str) -> str:
    """Return how an order differs from the one of the plan ``number``, in sticks and in cost."""
    (old_job, old), (new_job, new) = before, now
    sticks = [bought_sticks(plan) for plan in (old, new)]
    words = f"Plan {number}, which this was made from, takes {sticks[0]} sticks"
    if old.order_total is not None and new.order_total is not None:
        more = new.order_total - old.order_total
        step = f"{money(abs(more))} {'more' if more > 0 else 'less'}" if more else "the same"
        return f"{words} for {money(old.order_total)}; this one {sticks[1]} for {money(new.order_total)}, {step}."
    lengths = [bought_length(plan) for plan in (old, new)]
    return f"{words}, {say(lengths[0], old_job.units)}; this one {sticks[1]}, {say(lengths[1], new_job.units)}."


def why_nothing(plan: CutPlan) -> str:
    """Return why an order is empty."""
    if not plan.not_cut:
        return "what is on hand is enough"
    if any(part.patterns for part in plan.materials):
        return "what is on hand gives all that can be cut from these lengths"
    return "none of this can be cut from these lengths"


def on_hand(job: Job, plan: CutPlan) -> Iterator[str]:
    """Yield the offcuts that are used, alike ones together: how many, what is written on them, how long."""
    used = Counter[tuple[str, int]]()
    for part in plan.materials:
        for use, stick, count in part.alike():
            if use.stock is None:
                used[stick.offcut_id or "", use.stock_length] += count
    for (name, length), count in used.items():
        yield f"{count} × {clean(name)}, {say(length, job.units)}"


def besides(job: Job) -> Iterator[tuple[str, str, str]]:
    """Yield what the job needs besides what is cut: what, how much, and what it is bought as or that it is not."""
    for good in job.goods:
        yield clean(good.what), f"{good.quantity:f} {clean(good.unit)}", clean(good.product or "") or NOT_ORDERED


NOT_ORDERED = "not ordered"


def marks(use: PatternUse) -> list[str]:
    """Return for each piece of a pattern the marks of the pieces cut there, from the left."""
    sticks = [stick for stick, _ in alike(use.sticks)]
    return [", ".join(sorted({stick.pieces[place].mark for stick in sticks})) for place in range(len(use.cuts))]


def factory_end(end: FactoryEnd) -> str:
    """Return which ends are factory ends, for a column that is headed so."""
    return {FactoryEnd.NONE: "none", FactoryEnd.BOTH: "both"}.get(end, end.value)


def factory_ends(end: FactoryEnd) -> str:
    """Return which ends are factory ends, by itself: ``factory end right``."""
    return {FactoryEnd.NONE: "no factory end", FactoryEnd.BOTH: "both ends factory"}.get(end, f"factory end {end}")


def quality(job: Job, plan: CutPlan, part: MaterialPlan) -> str:
    """Return what is known of how good a material's plan is, and what that rests on."""
    whole = not any(job.required[entry.item].material == part.material for entry in plan.not_cut)
    what = "cut this list" if whole else "cut as much of this list"
    if not part.least_uncut:
        return "More pieces might still be possible: planning ended before that was settled."
    supplier = job.supplier_of(material_of(job, part.material))
    bill = next((each for each in plan.bills if each.supplier == supplier.name), plan.bill)
    if bill and part.priced and supplier.charges:
        return f"{_of_bill(bill, what)} {in_a_sentence(Basis.SEARCHED)}"
    return f"{_claim(job, part, what)} {in_a_sentence(part.proof.basis)}"


def _of_bill(bill: Bill, what: str) -> str:
    """Return what is known of an order under a minimum, which all priced materials make up together."""
    above = bill.total + bill.own - bill.bound
    if bill.supplier:
        whose = f"from {clean(bill.supplier)}, with all that is charged,"
        return f"No cheaper order {whose} can {what}." if bill.proven else (
            f"The order {whose} is at most {money(above)} above the cheapest possible."
        )  # fmt: skip
    if bill.proven:
        return f"No order of all materials together that is cheaper, with the minimum order, can {what}."
    return f"All materials together: at most {money(above)} above the cheapest possible order."


def _claim(job: Job, part: MaterialPlan, what: str) -> str:
    counted = ", with cuts and offcuts counted" if part.reckoning else ""
    if part.proven and part.priced:
        return f"No cheaper order from these lengths and prices can {what}{counted}."
    if part.proven:
        return f"No order of less length from these stock lengths can {what}."
    if not part.bound:
        return "How much less would do is not known."
    above = (part.cost - part.bound) * part.cost_step
    if part.priced:
        return f"At most {money(above)} above the cheapest possible{counted}."
    return f"At most {say(int(above), job.units)} more than the least possible."


def no_total(lines: Iterable[OrderLine]) -> str:
    """Return why an order has no total, where some of it has prices and some has none; else nothing."""
    lines = tuple(lines)
    without = unpriced_in(lines)
    if not without or all(line.amount is None for line in lines):
        return ""
    return f"No total: {_listed([clean(name) for name in without])} {'has' if len(without) == 1 else 'have'} no price."


def waste(job: Job, part: MaterialPlan) -> str:
    """Return where a material's length goes."""
    consumed = part.bought_length + part.offcut_length
    whose = "bought" if not part.offcut_length else "bought and on hand" if part.bought_length else "on hand"
    goes = [f"{about(part.used_length, job.units)} go into the pieces"]
    if laps := lap_length(job, part):
        goes[0] += f" ({about(laps, job.units)} of it under laps)"
    if part.kept_length:
        goes.append(f"{about(part.kept_length, job.units)} are offcuts to keep")
    if part.scrap_length:
        goes.append(f"{about(part.scrap_length, job.units)} are scrap")
    return f"Of {about(consumed, job.units)} {whose}, {_listed(goes)}."


def laps(job: Job, plan: CutPlan, part: MaterialPlan) -> str:
    """Return how a material's laps look, and what the fewest would take; nothing where there is nothing to say."""
    return " ".join(filter(None, (_looks(part), _fewest(job, plan, part))))


def laps_in(parts: Iterable[MaterialPlan]) -> int:
    """Return how many laps the runs have."""
    return sum(len(run.laps_at) for part in parts for run in part.runs)


def patterns_in(parts: Iterable[MaterialPlan]) -> int:
    """Return how many ways there are in which sticks are cut."""
    return sum(len(part.patterns) for part in parts)


def reckoned(part: MaterialPlan) -> str:
    """Return what counted beside the order, for the builder alone; nothing where nothing did."""
    laps = f"Laps counted {money(part.lap_cost)} beside the order, at {money(part.settings.lap_price)} each."
    return " ".join(filter(None, (laps if part.lap_cost and part.priced else "", _cutting(part))))


def _cutting(part: MaterialPlan) -> str:
    """Return what cuts, patterns and offcuts counted."""
    if (own := part.reckoning) is None:
        return ""
    said = [
        f"{many} {word}{'s' * (many != 1)} {money(cost)}"
        for many, word, cost in ((own.cuts, "cut", own.cut_cost), (own.patterns, "pattern", own.pattern_cost))
        if cost
    ]
    if own.kept_value:
        said.append(f"what is kept {money(-own.kept_value)}")
    together = f", together {money(own.total)}" if len(said) > 1 else ""
    return f"Counted beside the order: {_listed(said)}{together}." if said else ""


def _looks(part: MaterialPlan) -> str:
    """Return how laps look and how many pieces lie about; nothing where none are for a wall."""
    if (found := part.looks) is None:
        return ""
    laps = f"{found.laps} lap{'s' * (found.laps != 1)}"
    stairs = f"{found.staircases or 'no'} staircase{'s' * (found.staircases > 1)}"
    lie = f"{laps}: {found.near_lines or 'none'} nearly in line, {stairs}, {found.beside_openings} beside an opening. "
    others = f" and {found.for_other_walls} over the job for another wall" if found.for_other_walls else ""
    aside = f"At most {found.put_aside} pieces put aside at once{others}." if found.put_aside else "None put aside."
    return (lie if found.laps else "") + aside


def _fewest(job: Job, plan: CutPlan, part: MaterialPlan) -> str:
    """Return what the fewest laps would take more or break, where the plan has more of them."""
    if (fewest := part.fewest) is None:
        return ""
    have = laps_in([part])
    if fewest.sticks is None or fewest.cost is None or fewest.broken is None:
        return f"With the fewest laps, {fewest.laps} in place of {have}, no whole plan was found."
    noun = material_of(job, part.material).category.kind.noun
    sticks = fewest.sticks - part.new_sticks
    more = [_more(sticks, f"{abs(sticks)} {noun(abs(sticks))}")] * bool(sticks)
    if cost := fewest.cost - part.cost:
        amount = abs(cost) * part.cost_step
        more.append(_more(cost, money(amount) or "" if part.priced else say(int(amount), job.units)))
    takes = f"takes {_listed(more or [f'as many {noun(2)}'])}"
    if rules := fewest.broken - broken_rules(plan, part.material):
        takes += f" and breaks {_more(rules, f'{abs(rules)} rule' + 's' * (abs(rules) > 1))}"
    whose = "it" if fewest.stopped_by is StoppedBy.PROOF else "the best plan found"
    return f"With the fewest laps, {fewest.laps} in place of {have}, {whose} {takes}."


def broken_rules(plan: CutPlan, material: str | None = None) -> int:
    """Return how many rules of lap placement a plan breaks, of all materials or of one."""
    broken = (notice for notice in plan.warnings if notice.code in list(BreachCode))
    return sum(material in (None, notice.material) for notice in broken)


def _more(difference: int, what: str) -> str:
    return f"{what} {'more' if difference > 0 else 'less'}"


def left_over(job: Job, part: MaterialPlan) -> str:
    """Return what does not go into the pieces, in a few words: ``2" scrap of 75'-0" bought``."""
    left = _amounts(job, (part.scrap_length, "scrap"), (part.kept_length, "kept"))
    return f"{left or 'no scrap'} of {_amounts(job, (part.bought_length, 'bought'), (part.offcut_length, 'on hand'))}"


def _amounts(job: Job, *amounts: tuple[int, str]) -> str:
    return " and ".join(f"{about(length, job.units)} {what}" for length, what in amounts if length)


def about(length: int, unit: Unit) -> str:
    """Return a sum of lengths as a person would say it: as on a tape, where that is not all of it."""
    shown = taped(length, unit)
    return shown if shown == say(length, unit) else f"about {shown}"


def _listed(words: list[str]) -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"


_SENTENCES = {
    Basis.CERTIFIED: "Certified: the checker has worked this out again.",
    Basis.SEARCHED: "Searched: this rests on a search that was not repeated.",
}


def in_a_sentence(basis: Basis) -> str:
    """Return it as a sentence of its own, to follow what is claimed."""
    return _SENTENCES[basis]
