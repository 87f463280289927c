"""The order as CSV (RFC 4180, UTF-8): one line for each stock length, and nothing that a spreadsheet would execute."""

from __future__ import annotations

import csv
import io

from service.documents.blocks import TitleBlock
from service.drawing.lettering import LEFT_TO_RIGHT, clean
from service.wire.numbers import money
from solver.job import Job
from solver.lengths import say, to_number
from solver.plan import CutPlan, OrderLine

HEADING = (
    "plan", "job", "customer", "phone", "purchase_order", "date", "wanted_by", "taken_by", "material", "description",
    "stock", "code", "length", "length_number", "length_unit", "sticks", "spares", "cartons", "loose", "unit_price",
    "amount",
)  # fmt: skip
_FORMULA = ("=", "+", "-", "@", "\N{FULLWIDTH EQUALS SIGN}", "\N{FULLWIDTH PLUS SIGN}", "\N{FULLWIDTH HYPHEN-MINUS}",
            "\N{FULLWIDTH COMMERCIAL AT}", "|", "%")  # fmt: skip
"""What makes a spreadsheet take text for something to carry out."""


def order_csv(job: Job, plan: CutPlan, block: TitleBlock) -> str:
    """Return the order; texts that begin like a formula begin with an apostrophe instead."""
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
    return out.getvalue()


def _figures(job: Job, line: OrderLine) -> list[str]:
    length = harmless(say(line.length, job.units)), str(to_number(line.length, job.units)), str(job.units)
    counts = [line.sticks, line.spares, line.cartons, line.loose]
    return [*length, *map(str, counts), money(line.unit_price) or "", money(line.amount) or ""]


def harmless(text: str) -> str:
    """Return text that no spreadsheet takes for a formula."""
    printed = clean(text).replace(LEFT_TO_RIGHT, "").strip()
    return f"'{printed}" if printed.startswith(_FORMULA) else printed
