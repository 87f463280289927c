"""The order: what the yard pulls, what the customer pays and asked for, and the same as CSV (RFC 4180, UTF-8)."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from datetime import datetime

from service.documents.blocks import (
    BOX,
    Block,
    Column,
    Facts,
    Heading,
    Page,
    Paper,
    Paragraph,
    Sheet,
    Table,
    TitleBlock,
)
from service.documents.cutting_page import rip_words
from service.drawing.lettering import clean, taped
from service.drawing.shaped import slope_words
from service.spreadsheets.writing import csv_of
from service.views.facts import (
    CALLED_OFF,
    LOT,
    MEASURE,
    NOT_ORDERED,
    besides,
    bought,
    called,
    charges_of,
    each,
    laps,
    material_of,
    no_total,
    on_hand,
    packed,
    quality,
    suppliers_of,
    totals_of,
    waste,
    why_nothing,
)
from service.views.written import MEETS, beside
from service.wire.numbers import money
from solver.job import Job
from solver.lengths import Unit, say, to_number
from solver.plan import CutPlan, OrderLine
from solver.required import End, Required, Ripped

_TO_PULL = (
    Column("", 4), Column("How many", 14), Column("Length", 14), Column("Material", 36), Column("Supplier's code", 16),
    Column("Packed", 24),
)  # fmt: skip
_PRICED = (
    Column("How many", 13), Column("Material", 29), Column("Length", 12), Column("Packed", 20),
    Column("Each", 14, figures=True), Column("Amount", 12, figures=True),
)  # fmt: skip
_BESIDES = (Column("", 4), Column("What", 46), Column("How much", 20), Column("Bought as", 30))
_ASKED = (
    Column("Mark", 12), Column("How many", 16), Column("Measured", 13), Column("Left end", 17), Column("Right end", 17),
    Column("Cut length", 22), Column("Where, and rips", 24),
)  # fmt: skip
_WRITTEN = (Column("As it was written", 50), Column("As it was read", 50))
HEADING = (
    "plan", "job", "customer", "phone", "purchase_order", "date", "wanted_by", "taken_by", "material", "description",
    "stock", "code", "length", "length_number", "length_unit", "sticks", "spares", "cartons", "loose", "unit_price",
    "carton_price", "amount", "fixed_cost", "supplier", "wait_days", "quantity", "unit",
)  # fmt: skip
LONGEST_FIRST = "In the order to load it: the longest first, so that it lies at the bottom."


def yard_sheet(job: Job, plan: CutPlan, block: TitleBlock, made: datetime, paper: Paper) -> Sheet:
    """Return the order as each supplier fills it, a page of its own: what to pull, the longest first. No prices."""
    names = suppliers_of(plan.order)
    pages = []
    for name in names:
        lines = sorted((line for line in plan.order if line.supplier == name), key=lambda line: -line.length)
        rows = tuple(_to_pull(job, line) for line in lines)
        supplier = [Facts((("Supplier", clean(name)),))] if name else []
        blocks = [*_head(block), *supplier, *_or_nothing(plan, Table(_TO_PULL, rows))]
        if rows:
            blocks += [
                Paragraph(LONGEST_FIRST),
                Paragraph(LOT, strong=True),
                Facts((("Lot number", ""), ("Pulled by", ""))),
            ]
        # what is of no material stands once: with whoever sells what nobody says who sells, or with the first
        if name == ("" if "" in names else names[0]):
            blocks += [*_besides(job), *_not_ordered(job, plan)]
        pages.append((" for ".join(filter(None, (f"Order {block.number}".strip(), clean(name)))), tuple(blocks)))
    return _sheet("Order", pages, block, made, paper)


def customer_sheet(job: Job, plan: CutPlan, block: TitleBlock, made: datetime, paper: Paper) -> Sheet:
    """Return the order as the customer keeps it: with its prices, and the list that was asked for."""
    totals = totals_of(plan, block.company)
    rows = (*(_priced(job, line) for line in plan.order), *((name, "", "", "", "", amount) for name, amount in totals))
    blocks = [*_head(block), *_or_nothing(plan, Table(_PRICED, rows, total=bool(totals)))]
    if rows:
        blocks += [Paragraph(why, strong=True)] if (why := no_total(plan.order)) else []
        terms = block.company.note
        blocks += [Paragraph(LOT, strong=True), *([Paragraph(clean(terms))] if terms else [])]
        blocks.append(Facts((*([] if terms else [("Terms", "")]), ("Signed", ""))))
    blocks += [*_besides(job), *_not_ordered(job, plan), *_asked_for(job, plan), *_in_own_words(job)]
    blocks += [*_how_good(job, plan), *_noted(plan)]
    title = f"Customer's copy {block.number}".strip()
    return _sheet("Customer's copy", [(title, tuple(blocks))], block, made, paper)


def _sheet(
    what: str, pages: Sequence[tuple[str, tuple[Block, ...]]], block: TitleBlock, made: datetime, paper: Paper
) -> Sheet:
    title = f"{what} {block.number}".strip()
    title = f"{title}: {clean(block.job)}" if block.job else title
    return Sheet(title, tuple(Page(*page) for page in pages), block.whose, made, paper)


def _head(block: TitleBlock) -> list[Block]:
    head = block.letterhead()
    said = [(head, True), (CALLED_OFF if block.called_off else "", True)]
    blocks: list[Block] = [Paragraph(text, strong=strong) for text, strong in said if text]
    return [*blocks, block.facts(), *([Paragraph(f"Note: {clean(block.note)}")] if block.note else [])]


def _or_nothing(plan: CutPlan, table: Table) -> list[Block]:
    return [table if table.rows else Paragraph(f"Nothing to order: {why_nothing(plan)}.")]


def _to_pull(job: Job, line: OrderLine) -> tuple[str, ...]:
    what = called(material_of(job, line.material))
    return BOX, bought(job, line), say(line.length, job.units), what, clean(line.code or ""), packed(line)


def _priced(job: Job, line: OrderLine) -> tuple[str, ...]:
    what, amount = called(material_of(job, line.material)), money(line.amount) or ""
    return bought(job, line), what, say(line.length, job.units), packed(line), each(line), amount


def _besides(job: Job) -> Iterator[Block]:
    """Yield what is bought besides what is cut."""
    if goods := [(BOX, *row) for row in besides(job) if row[-1] != NOT_ORDERED]:
        yield Heading("Besides what is cut")
        yield Table(_BESIDES, tuple(goods))


def _not_ordered(job: Job, plan: CutPlan) -> Iterator[Block]:
    """Yield what somebody might look for in vain: goods without a product, offcuts used instead, what can't be cut."""
    if goods := [f"{what}, {quantity}" for what, quantity, product in besides(job) if product == NOT_ORDERED]:
        yield Paragraph(f"Not ordered, but needed: {'; '.join(goods)}.", strong=True)
    if used := list(on_hand(job, plan)):
        yield Paragraph(f"Not ordered, from offcuts on hand: {'; '.join(used)}.")
    if plan.not_cut:
        columns = (Column("Mark", 20), Column("How many", 15), Column("Why", 65))
        rows = [(clean(entry.mark), str(entry.quantity), clean(entry.detail)) for entry in plan.not_cut]
        yield Heading("Not ordered: can't be cut from these lengths")
        yield Table(columns, tuple(rows))


def _asked_for(job: Job, plan: CutPlan) -> Iterator[Block]:
    """Yield the list of pieces, so that it can be held against the list that was asked for."""
    for part in (part for part in plan.materials if part.patterns):
        cut: dict[int, Counter[tuple[int, int]]] = defaultdict(Counter)
        for use, stick in part.sticks():
            for piece, made in zip(stick.pieces, use.cuts, strict=True):
                cut[piece.item][made.length, made.room] += 1
        runs = Counter(run.item for run in part.runs)
        yield Heading(f"Asked for: {called(material_of(job, part.material))}")
        yield Table(_ASKED, tuple(_piece(job, item, cut[item], runs[item]) for item in sorted(cut)))


def _in_own_words(job: Job) -> Iterator[Block]:
    """Yield what the customer wrote beside what was read of it."""
    if lines := [(line.words, line.read) for line in beside(job)]:
        yield Heading("In your own words")
        yield Table(_WRITTEN, tuple(lines))


def _piece(job: Job, item: int, cut: Counter[tuple[int, int]], runs: int) -> tuple[str, ...]:
    """Return one item's row; of an item laid in runs, what was measured is a run and what is cut are its pieces."""
    required = job.required[item]
    ends = _end(required.left_end, job.units), _end(required.right_end, job.units)
    lengths = [_length(job, *key, count if len(cut) > 1 else 1) for key, count in sorted(cut.items(), reverse=True)]
    pieces = f"{cut.total()} piece{'s' * (cut.total() > 1)}"
    how_many = f"{runs} run{'s' * (runs > 1)}, {pieces}" if runs else str(cut.total())
    measured, where = say(required.length, job.units), _where(required, job.units)
    return clean(required.mark), how_many, measured, *ends, ", ".join(lengths), where


def _where(required: Required, unit: Unit) -> str:
    """Return where an item goes and how it is ripped, as far as it says so."""
    rips = [f"{_course(rip)}{rip_words(rip, unit)}" for rip in required.rips]
    return "; ".join([clean(required.ref), *rips] if required.ref else rips)


def _course(rip: Ripped) -> str:
    return f"course {rip.course}: " if rip.course is not None else ""


def _length(job: Job, length: int, room: int, count: int) -> str:
    text = taped(length, job.units) if count == 1 else f"{count} of {taped(length, job.units)}"
    return f"{text}, room to {taped(length + room, job.units)}: measure before cutting" if room else text


def _end(end: End, unit: Unit) -> str:
    word = MEETS[end.meets]
    return f"{word}, {slope_words(end.slope, unit)}" if end.slope else word


def _how_good(job: Job, plan: CutPlan) -> Iterator[Block]:
    """Yield what is known of how good the order is, and where its length goes."""
    parts = [part for part in plan.materials if part.patterns]
    if parts:
        yield Heading("Is there a cheaper order?")
    for part in parts:
        name = f"{clean(part.material)}: " if len(plan.materials) > 1 else ""
        yield Paragraph(f"{name}{quality(job, plan, part)} {waste(job, part)} {laps(job, plan, part)}".rstrip())
    yield Paragraph(MEASURE)


def _noted(plan: CutPlan) -> Iterator[Block]:
    """Yield the notes on the plan that are of no wall."""
    if noted := [notice for notice in plan.warnings if notice.wall is None]:
        yield Heading("Notes")
        yield from (Paragraph(clean(notice.detail)) for notice in noted)


def order_csv(job: Job, plan: CutPlan, block: TitleBlock) -> str:
    """Return the order; after it what each supplier charges beside it, then what the job needs besides what is cut.

    Such a row says what it is as its material, and of what is needed as its stock what it is bought as. All that
    stands under ``amount`` and ``fixed_cost`` comes to the order's total.
    """
    descriptions = {material.id: material.description for material in job.materials}
    head = (
        block.number, block.job or job.name, block.customer, block.phone, block.po, block.date, block.wanted_by,
        block.taken_by,
    )  # fmt: skip
    lines = (
        (*head, line.material, descriptions.get(line.material, ""), line.stock, line.code or "", *_figures(job, line))
        for line in plan.order
    )
    bills = plan.bills or ((plan.bill,) if plan.bill else ())
    charged = (
        _row(head, material=name, amount=money(amount) or "", supplier=bill.supplier)
        for bill in bills
        for name, amount in charges_of(bill)
    )
    needed = (
        _row(
            head, material=good.what, stock=good.product or NOT_ORDERED, quantity=f"{good.quantity:f}", unit=good.unit
        )
        for good in job.goods
    )
    return csv_of([HEADING, *lines, *charged, *needed])


def _row(head: tuple[str, ...], **cells: str) -> tuple[str, ...]:
    """Return a row of which only these cells say anything."""
    return (*head, *(cells.get(name, "") for name in HEADING[len(head) :]))


def _figures(job: Job, line: OrderLine) -> list[str]:
    length = say(line.length, job.units), str(to_number(line.length, job.units)), str(job.units)
    counts = [line.sticks, line.spares, line.cartons, line.loose]
    sums = (line.unit_price, line.carton_price, line.amount, None if line.amount is None else line.fixed_cost)
    priced = (money(amount) or "" for amount in sums)
    return [*length, *map(str, counts), *priced, line.supplier, str(line.wait_days), "", ""]
