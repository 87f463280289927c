"""The order of the north wall: what the yard pulls, and what the customer keeps."""

from __future__ import annotations

import csv
import io
from dataclasses import replace
from decimal import Decimal

import pytest

from service.documents.blocks import BOX, Facts, Page, Paper, Paragraph, TitleBlock
from service.documents.order_sheets import customer_sheet, order_csv, yard_sheet
from service.documents.pdf import pdf
from service.views.facts import CALLED_OFF, about
from solver.job import Good, Job, Notice
from solver.lengths import TICKS_PER_MM, Unit
from solver.plan import Bill, CutPlan, MaterialPlan, NotCut, OrderLine
from solver.proof import Basis, Proof
from tests.scenario import inches
from tests.support import wall_plans
from tests.support.sheets import BLOCK, MADE, north, paragraphs, read, tables


def yard(job: Job, plan: CutPlan, block: TitleBlock = BLOCK) -> Page:
    """Return the yard's order."""
    return yard_sheet(job, plan, block, MADE, Paper.LETTER).pages[0]


def copy(job: Job, plan: CutPlan, block: TitleBlock = BLOCK) -> Page:
    """Return the customer's copy."""
    return customer_sheet(job, plan, block, MADE, Paper.LETTER).pages[0]


def test_the_yard_reads_what_to_pull() -> None:
    """Seven panels of 12'-6", a box to tick, the one thing to ask of the supplier, and no price."""
    page = yard(*north())
    assert tables(page)[0].rows == ((BOX, "7 panels", "12'-6\"", "panel-sand, double 4 in panel, sand", "", "7 loose"),)
    assert "One lot number, please" in paragraphs(page)
    assert "9.80" not in str(page)


def test_the_customer_reads_what_it_comes_to() -> None:
    """Seven at 9.80 are 68.60; terms and signature are lines to write on."""
    page = copy(*north())
    row, total = tables(page)[0].rows
    assert row == ("7 panels", "panel-sand, double 4 in panel, sand", "12'-6\"", "7 loose", "9.80", "68.60")
    assert (total[0], total[-1]) == ("Total", "68.60")
    assert ("Terms", "") in [entry for block in page.blocks if isinstance(block, Facts) for entry in block.entries]


def test_the_longest_is_pulled_first() -> None:
    """A stick of 10 ft, one of 20 ft and the panels: it lies at the bottom of the load."""
    job, plan = north()
    lines = [replace(plan.order[0], length=inches(length)) for length in (120, 240, 150)]
    rows = tables(yard(job, replace(plan, order=tuple(lines))))[0].rows
    assert [row[2] for row in rows] == ["20'-0\"", "12'-6\"", "10'-0\""]


def test_number_and_delivery_stand_at_the_head_and_the_number_on_every_page() -> None:
    """What the counter knows of the order; what it does not know is a line to write on."""
    block = replace(BLOCK, number="10427", handover="deliver to Mill Lane", wanted_by="Monday 30 November 2026")
    sheet = yard_sheet(*north(), block, MADE, Paper.LETTER)
    facts = dict(next(block for block in sheet.pages[0].blocks if isinstance(block, Facts)).entries)
    assert (facts["Plan no."], facts["Handover"]) == ("10427", "deliver to Mill Lane")
    assert (facts["Wanted by"], facts["Taken by"]) == ("Monday 30 November 2026", "")
    assert sheet.pages[0].title == "Order 10427"
    assert sheet.foot.startswith("10427 · ")


def test_each_supplier_gets_a_page_of_its_own() -> None:
    """The panels are North's, and what nobody says who sells is on a page without a name, with all that is besides."""
    job, plan = north()
    other = replace(job.materials[0], id="post")
    named = replace(plan.order[0], supplier="North")
    line = replace(plan.order[0], material="post", sticks=2)
    goods = (Good("nails", Decimal(2), "boxes", "N-1"),)
    split = replace(job, materials=(*job.materials, other), goods=goods), replace(plan, order=(named, line))
    sheet = yard_sheet(*split, replace(BLOCK, number="10427"), MADE, Paper.LETTER)
    assert [page.title for page in sheet.pages] == ["Order 10427 for North", "Order 10427"]
    assert [tables(page)[0].rows[0][1] for page in sheet.pages] == ["7 panels", "2 panels"]
    assert [Facts((("Supplier", "North"),)) in page.blocks for page in sheet.pages] == [True, False]
    assert ["nails" in str(page) for page in sheet.pages] == [False, True]
    rows = list(csv.DictReader(io.StringIO(order_csv(*split, BLOCK))))
    assert [row["supplier"] for row in rows] == ["North", "", ""]


def test_of_goods_the_file_says_how_much_under_names_of_its_own() -> None:
    """Two and a half boxes are a quantity and a unit; the material's description is another thing."""
    job, plan = north()
    goods = (Good("nails", Decimal("2.5"), "boxes", "N-1"), Good("wrap", Decimal(1), "rolls", None))
    panels, *besides = csv.DictReader(io.StringIO(order_csv(replace(job, goods=goods), plan, BLOCK)))
    named = ("material", "description", "stock", "sticks", "quantity", "unit")
    assert [tuple(row[name] for name in named) for row in besides] == [
        ("nails", "", "N-1", "", "2.5", "boxes"), ("wrap", "", "not ordered", "", "1", "rolls"),
    ]  # fmt: skip
    assert (panels["sticks"], panels["quantity"], panels["unit"]) == ("7", "", "")


def test_the_copy_tells_what_an_order_costs_beside_its_lines() -> None:
    """Goods of 68.60, an order charge of 5.00 and delivery of 12.00 are 85.60; the buyer's reckoning is not told."""
    job, plan = north()
    none = Decimal(0)
    bill = Bill(Decimal("68.60"), none, none, none, Decimal("-3.20"), Decimal(5), Decimal(12))
    rows = tables(copy(job, replace(plan, bill=bill)))[0].rows[1:]
    assert [(row[0], row[-1]) for row in rows] == [
        ("Goods", "68.60"), ("Order charge", "5.00"), ("Delivery", "12.00"), ("Total", "85.60"),
    ]  # fmt: skip
    assert "3.20" not in str(copy(job, replace(plan, bill=bill)))


def test_the_file_comes_to_what_the_order_does() -> None:
    """Two suppliers: 68.60 with 3.00 for the length and 5.00 for the order; 19.60 with 12.00 and 4.00 on top."""
    job, plan = north()
    none, other = Decimal(0), replace(job.materials[0], id="post")
    panels = replace(plan.order[0], supplier="North", fixed_cost=Decimal(3))
    posts = replace(plan.order[0], supplier="South", material="post", amount=Decimal("19.60"))
    bills = (
        Bill(Decimal("68.60"), Decimal(3), none, none, order_cost=Decimal(5), supplier="North"),
        Bill(Decimal("19.60"), none, Decimal(4), none, delivery=Decimal(12), supplier="South"),
    )
    made = replace(plan, order=(panels, posts), bill=Bill.of_all(bills), bills=bills)
    rows = list(csv.DictReader(io.StringIO(order_csv(replace(job, materials=(*job.materials, other)), made, BLOCK))))
    assert [(row["material"], row["amount"], row["supplier"], row["sticks"]) for row in rows[2:]] == [
        ("Order charge", "5.00", "North", ""), ("Small order", "4.00", "South", ""), ("Delivery", "12.00", "South", ""),
    ]  # fmt: skip
    assert sum(Decimal(row[name] or 0) for row in rows for name in ("amount", "fixed_cost")) == Decimal("112.20")
    alone = csv.DictReader(io.StringIO(order_csv(job, replace(plan, bill=bills[0]), BLOCK)))
    assert [(row["material"], row["amount"]) for row in alone] == [("panel-sand", "68.60"), ("Order charge", "5.00")]


def test_an_order_that_was_called_off_says_so_first() -> None:
    """Before anything is pulled."""
    first = yard(*north(), replace(BLOCK, called_off=True)).blocks[0]
    assert first == Paragraph(CALLED_OFF, strong=True)


def test_the_supplier_finds_code_cartons_and_spares() -> None:
    """Two cartons and three loose of code VS-126, one of them spare."""
    job, plan = north()
    line = OrderLine("panel-sand", "12-6", inches(150), "VS-126", 10, 1, 2, 3, Decimal("9.80"), Decimal("107.80"))
    row = tables(yard(job, replace(plan, order=(line,))))[0].rows[0]
    assert (row[1], row[4], row[5]) == ("11 panels", "VS-126", "2 cartons and 3 loose, 1 of them spare")


@pytest.mark.parametrize(
    ("cartons", "loose", "amount", "each"),
    [(1, 4, "267.20", "9.80, carton 228.00"), (2, 0, "456.00", "carton 228.00"), (1, 4, "274.40", "9.80")],
)
def test_the_copy_names_each_price_that_its_amount_is_made_of(cartons: int, loose: int, amount: str, each: str) -> None:
    """Of cartons of 24 at 228.00 and singles at 9.80: 228.00 + 4 x 9.80 = 267.20; 28 x 9.80 = 274.40."""
    job, plan = north()
    sticks = 24 * cartons + loose
    line = OrderLine("panel-sand", "12-6", inches(150), "", sticks, 0, cartons, loose, Decimal("9.80"), Decimal(amount))
    assert tables(copy(job, replace(plan, order=(line,))))[0].rows[0][-2:] == (each, amount)


def test_where_the_length_goes_is_said_in_words() -> None:
    """7 x 150 = 1050 bought, 988 1/2 in pieces, 6 under laps, 41 1/2 kept, 20 scrap; and no percentage anywhere."""
    text = paragraphs(copy(*north()))
    assert 'Of 87\'-6" bought, 82\'-4 1/2" go into the pieces (6" of it under laps)' in text
    assert '3\'-5 1/2" are offcuts to keep and 20" are scrap.' in text
    assert not any("%" in page for page in read(pdf(customer_sheet(*north(), BLOCK, MADE, Paper.A4))))


def test_what_no_tape_shows_is_said_as_on_the_cut_sheet() -> None:
    """50 in less two millimetres are 4'-1 7/8" and a bit: that much is there, as on the sheet beside the saw."""
    assert about(inches(50) - 2 * TICKS_PER_MM, Unit.IN) == "about 4'-1 7/8\""


def graded(**changes: object) -> str:
    """Return what the order says of the north wall's plan with these fields changed."""
    job, plan = north()
    part: MaterialPlan = replace(plan.materials[0], **changes)  # type: ignore[arg-type]
    return paragraphs(copy(job, replace(plan, materials=(part,))))


def test_the_proof_is_told_in_words() -> None:
    """Proven with and without prices, and not proven by so much; steps are 0.20."""
    assert "No cheaper order from these lengths and prices can cut this list." in graded()
    assert "No order of less length from these stock lengths can cut this list." in graded(priced=False)
    assert "At most 9.80 above the cheapest possible." in graded(bound=294)
    assert "More pieces might still be possible: planning ended before that was settled." in graded(least_uncut=False)


@pytest.mark.parametrize(
    ("basis", "words"),
    [
        (Basis.CERTIFIED, "Certified: the checker has worked this out again."),
        (Basis.SEARCHED, "Searched: this rests on a search that was not repeated."),
    ],
)
def test_what_a_proof_rests_on_is_said_beside_it(basis: Basis, words: str) -> None:
    """Nobody may take a search for a certificate, be the plan proven or only so near."""
    assert words in graded(proof=Proof("search", basis=basis))
    assert words in graded(proof=Proof("search", basis=basis), bound=294)


def test_what_cant_be_cut_is_said_where_the_order_is() -> None:
    """Mark, how many and why stand under their own heading, and the proof speaks of this much of the list."""
    job, plan = north()
    short = replace(plan, not_cut=(NotCut(0, "N", 2, "stock_exhausted", "only five panels are left"),))
    page = copy(job, short)
    assert "Not ordered: can't be cut from these lengths" in paragraphs(page)
    assert "Not ordered: can't be cut" in paragraphs(yard(job, short))
    assert tables(page)[1].rows == (("N", "2", "only five panels are left"),)
    assert "can cut as much of this list." in paragraphs(page)


def test_an_order_of_nothing_says_why_and_proves_nothing() -> None:
    """None of it can be cut."""
    job, plan = north()
    none = replace(plan, order=(), materials=(replace(plan.materials[0], patterns=(), runs=()),))
    short = replace(none, not_cut=(NotCut(0, "N", 3, "stock_exhausted", "no panel is left"),))
    text = paragraphs(copy(job, short))
    assert "Nothing to order: none of this can be cut from these lengths." in text
    assert "No cheaper order" not in text


def test_nothing_to_order_is_said() -> None:
    """Offcuts on hand may be enough; they are named."""
    job, plan = north()
    use = replace(plan.materials[0].patterns[1], stock=None)
    use = replace(use, sticks=(replace(use.sticks[0], offcut_id="R-17"),))
    on_hand = replace(plan, order=(), materials=(replace(plan.materials[0], patterns=(use,)),))
    text = paragraphs(yard(job, on_hand))
    assert "Nothing to order: what is on hand is enough." in text
    assert "Not ordered, from offcuts on hand: 1 × R-17, 12'-6\"." in text


def test_the_list_of_pieces_can_be_held_against_the_request() -> None:
    """N was asked for three times 27'-4" between channels: three runs of nine pieces in all."""
    row = tables(copy(*north()))[1].rows[0]
    assert row[:5] == ("N", "3 runs, 9 pieces", "27'-4\"", "in a channel", "in a channel")
    assert row[5] == '4 of 12\'-6", 11\'-4", 9\'-6 1/2", 5\'-5", 3\'-7 1/2", 29 1/2"'


def test_notices_of_no_wall_stand_on_the_copy() -> None:
    """What is noted of a wall stands with the wall."""
    job, plan = wall_plans.wider_window()
    noted = replace(plan, warnings=(*plan.warnings, Notice("over_stock", "seven panels are needed of six")))
    assert "seven panels are needed of six" in paragraphs(copy(job, noted))
