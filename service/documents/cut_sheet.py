"""The documents of a finished plan: the cut sheet, its order first, and the order alone as CSV (RFC 4180, UTF-8)."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from datetime import datetime

from service.documents.blocks import BOX, Block, Column, Heading, Page, Paper, Paragraph, Sheet, Table, TitleBlock
from service.documents.cutting_page import cutting_pages
from service.documents.hanging_page import hanging_pages
from service.drawing.lettering import LEFT_TO_RIGHT, clean
from service.views.facts import (
    CALLED_OFF,
    LOT,
    MEASURE,
    besides,
    bought,
    called,
    material_of,
    no_total,
    on_hand,
    packed,
    quality,
    totals_of,
    waste,
    why_nothing,
)
from service.wire.numbers import money
from solver.job import Job
from solver.lengths import say, to_number
from solver.plan import CutPlan, OrderLine

_COLUMNS = (
    Column("", 4),
    Column("How many", 15),
    Column("Material", 33),
    Column("Length", 14),
    Column("Supplier's code", 16),
    Column("Packed", 20),
    Column("Each", 10, figures=True),
    Column("Amount", 12, figures=True),
)
HEADING = (
    "plan", "job", "customer", "phone", "purchase_order", "date", "wanted_by", "taken_by", "material", "description",
    "stock", "code", "length", "length_number", "length_unit", "sticks", "spares", "cartons", "loose", "unit_price",
    "amount",
)  # fmt: skip
_FORMULA = ("=", "+", "-", "@", "\N{FULLWIDTH EQUALS SIGN}", "\N{FULLWIDTH PLUS SIGN}", "\N{FULLWIDTH HYPHEN-MINUS}",
            "\N{FULLWIDTH COMMERCIAL AT}", "|", "%")  # fmt: skip
"""What makes a spreadsheet take text for something to carry out."""


def sheet_of(job: Job, plan: CutPlan, block: TitleBlock, made: datetime, paper: Paper) -> Sheet:
    """Return the sheet of a finished plan; its foot tells sheets of different orders apart."""
    known = [clean(word) for word in (block.number, block.job or job.name, block.customer, block.po)]
    title = f"Cut sheet: {known[1]}" if known[1] else "Cut sheet"
    pages = order_page(job, plan, block), *cutting_pages(job, plan), *hanging_pages(job, plan)
    return Sheet(title, pages, " · ".join(filter(None, known)), made, paper)


_BESIDES = (Column("", 4), Column("What", 46), Column("How much", 20), Column("Bought as", 30))


def order_page(job: Job, plan: CutPlan, block: TitleBlock) -> Page:
    """Return the page that goes to the supplier."""
    rows = [_row(job, line) for line in plan.order]
    totals = totals_of(plan, block.company)
    rows += [("", name, "", "", "", "", "", amount) for name, amount in totals]
    blocks: list[Block] = [Paragraph(head, strong=True)] if (head := block.letterhead()) else []
    blocks += [Paragraph(CALLED_OFF, strong=True)] if block.called_off else []
    blocks.append(block.facts())
    if rows:
        blocks += [Table(_COLUMNS, tuple(rows), total=bool(totals))]
        blocks += [Paragraph(why, strong=True)] if (why := no_total(plan.order)) else []
        blocks.append(Paragraph(LOT, strong=True))
    else:
        blocks.append(Paragraph(f"Nothing to order: {why_nothing(plan)}."))
    if goods := tuple(besides(job)):
        blocks += [Heading("Besides what is cut"), Table(_BESIDES, tuple((BOX, *row) for row in goods))]
    blocks += [Paragraph(clean(text)) for text in (block.note, block.company.note) if text]
    blocks += [*_on_hand(job, plan), *_not_cut(plan), *_how_good(job, plan), *_noted(plan)]
    return Page("Order", tuple(blocks))


def _row(job: Job, line: OrderLine) -> tuple[str, ...]:
    price, amount = money(line.unit_price) or "", money(line.amount) or ""
    what, length = called(material_of(job, line.material)), say(line.length, job.units)
    return BOX, bought(job, line), what, length, clean(line.code or ""), packed(line), price, amount


def _on_hand(job: Job, plan: CutPlan) -> Iterator[Block]:
    if used := list(on_hand(job, plan)):
        yield Paragraph(f"From offcuts on hand: {'; '.join(used)}.")


def _not_cut(plan: CutPlan) -> Iterator[Block]:
    if plan.not_cut:
        columns = (Column("Mark", 20), Column("How many", 15), Column("Why", 65))
        rows = [(clean(entry.mark), str(entry.quantity), clean(entry.detail)) for entry in plan.not_cut]
        yield Heading("Can't be cut from these lengths")
        yield Table(columns, tuple(rows))


def _how_good(job: Job, plan: CutPlan) -> Iterator[Block]:
    for part in (part for part in plan.materials if part.patterns):
        name = f"{clean(part.material)}: " if len(plan.materials) > 1 else ""
        yield Paragraph(f"{name}{quality(job, plan, part)} {waste(job, part)}")
    yield Paragraph(MEASURE)


def _noted(plan: CutPlan) -> Iterator[Block]:
    """Yield the notes on the plan that are of no wall."""
    if noted := [notice for notice in plan.warnings if notice.wall is None]:
        yield Heading("Notes")
        yield from (Paragraph(clean(notice.detail)) for notice in noted)


def order_csv(job: Job, plan: CutPlan, block: TitleBlock) -> str:
    """Return the order; texts that begin like a formula begin with an apostrophe instead.

    What the job needs besides what is cut follows: what it is, how much, and as its stock what it is bought as.
    """
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(HEADING)
    descriptions = {material.id: material.description for material in job.materials}
    head = [
        block.number, block.job or job.name, block.customer, block.phone, block.po, block.date, block.wanted_by,
        block.taken_by,
    ]  # fmt: skip
    for line in plan.order:
        texts = [*head, line.material, descriptions.get(line.material, ""), line.stock, line.code or ""]
        writer.writerow([*map(harmless, texts), *_figures(job, line)])
    for what, quantity, product in besides(job):
        writer.writerow([*map(harmless, [*head, what, quantity, product]), *[""] * (len(HEADING) - len(head) - 3)])
    return out.getvalue()


def _figures(job: Job, line: OrderLine) -> list[str]:
    length = harmless(say(line.length, job.units)), str(to_number(line.length, job.units)), str(job.units)
    counts = [line.sticks, line.spares, line.cartons, line.loose]
    return [*length, *map(str, counts), money(line.unit_price) or "", money(line.amount) or ""]


def harmless(text: str) -> str:
    """Return text that no spreadsheet takes for a formula."""
    printed = clean(text).replace(LEFT_TO_RIGHT, "").strip()
    return f"'{printed}" if printed.startswith(_FORMULA) else printed
