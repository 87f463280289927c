"""What the sheet of the north wall says: order, cutting, hanging."""

from __future__ import annotations

import re
from dataclasses import replace
from decimal import Decimal

import pytest

from service.documents.blocks import BOX, Paper
from service.documents.cut_sheet import order_page, sheet_of
from service.documents.cutting_page import boxes, cutting_pages
from service.documents.hanging_page import hanging_pages, steps_of
from service.documents.pdf import pdf
from service.drawing.layout import layouts_of
from solver.job import Notice
from solver.lengths import Unit
from solver.materials import CUTTING, LapEnds
from solver.plan import Basis, MaterialPlan, NotCut, OrderLine, Proof
from tests.scenario import inches
from tests.support import wall_plans
from tests.support.sheets import BLOCK, MADE, north, paragraphs, read, sheet, tables


def test_the_order_names_what_to_pull_and_what_it_comes_to() -> None:
    """Seven panels of 12'-6", 68.60, a box to tick, and the one thing to ask of the supplier."""
    page = order_page(*north(), BLOCK)
    row, total = tables(page)[0].rows
    assert row == (BOX, "7 panels", "panel-sand, double 4 in panel, sand", "12'-6\"", "", "7 loose", "9.80", "68.60")
    assert total[-1] == "68.60"
    assert "One lot number, please" in paragraphs(page)


def test_the_supplier_finds_code_cartons_and_spares() -> None:
    """Two cartons and three loose of code VS-126, one of them spare."""
    job, plan = north()
    line = OrderLine("panel-sand", "12-6", inches(150), "VS-126", 10, 1, 2, 3, Decimal("9.80"), Decimal("107.80"))
    row = tables(order_page(job, replace(plan, order=(line,)), BLOCK))[0].rows[0]
    assert (row[1], row[4], row[5]) == ("11 panels", "VS-126", "2 cartons and 3 loose, 1 of them spare")


def test_where_the_length_goes_is_said_in_words() -> None:
    """7 x 150 = 1050 bought, 988 1/2 in pieces, 6 under laps, 41 1/2 kept, 20 scrap; and no percentage anywhere."""
    text = paragraphs(order_page(*north(), BLOCK))
    assert 'Of 87\'-6" bought, 82\'-4 1/2" go into the pieces (6" of it under laps)' in text
    assert '3\'-5 1/2" are offcuts to keep and 20" are scrap.' in text
    assert not any("%" in page for page in read(pdf(sheet())))


def graded(**changes: object) -> str:
    """Return what the order says of the north wall's plan with these fields changed."""
    job, plan = north()
    part: MaterialPlan = replace(plan.materials[0], **changes)  # type: ignore[arg-type]
    return paragraphs(order_page(job, replace(plan, materials=(part,)), BLOCK))


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
    page = order_page(job, short, BLOCK)
    assert "Can't be cut from these lengths" in paragraphs(page)
    assert tables(page)[1].rows == (("N", "2", "only five panels are left"),)
    assert "can cut as much of this list." in paragraphs(page)


def test_a_material_of_which_nothing_can_be_cut_has_no_page_and_no_proof() -> None:
    """The order says why it is empty; no page of cuts without a cut follows it."""
    job, plan = north()
    none = replace(plan, order=(), materials=(replace(plan.materials[0], patterns=(), runs=()),))
    short = replace(none, not_cut=(NotCut(0, "N", 3, "stock_exhausted", "no panel is left"),))
    assert not list(cutting_pages(job, short))
    text = paragraphs(order_page(job, short, BLOCK))
    assert "Nothing to order: none of this can be cut from these lengths." in text
    assert "No cheaper order" not in text


def test_nothing_to_order_is_said() -> None:
    """Offcuts on hand may be enough; they are named."""
    job, plan = north()
    use = replace(plan.materials[0].patterns[1], stock=None)
    use = replace(use, sticks=(replace(use.sticks[0], offcut_id="R-17"),))
    on_hand = replace(plan, order=(), materials=(replace(plan.materials[0], patterns=(use,)),))
    text = paragraphs(order_page(job, on_hand, BLOCK))
    assert "Nothing to order: what is on hand is enough." in text
    assert "From offcuts on hand: 1 × R-17, 12'-6\"." in text


def test_cutting_begins_with_cautions_and_which_way_round() -> None:
    """Eyes and hands first, then the warning that a panel can't be turned."""
    page = next(cutting_pages(*north()))
    text = paragraphs(page)
    assert text.index(CUTTING) < text.index("Panel face toward you, nail hem up.")
    assert "Pieces" in text


def test_the_list_of_pieces_can_be_held_against_the_request() -> None:
    """N was asked for three times 27'-4" between channels: three runs of nine pieces in all."""
    row = tables(next(cutting_pages(*north())))[0].rows[0]
    assert row[:5] == ("N", "3 runs, 9 pieces", "27'-4\"", "in a channel", "in a channel")
    assert row[5] == '4 of 12\'-6", 11\'-4", 9\'-6 1/2", 5\'-5", 3\'-7 1/2", 29 1/2"'


def test_left_overs_to_keep_have_their_length_to_write_on() -> None:
    """S6 leaves 41 1/2 in between two pieces: no factory end."""
    kept = tables(next(cutting_pages(*north())))[-1]
    assert kept.rows == ((BOX, "3'-5 1/2\"", "S6", "none"),)


def test_offcuts_cut_alike_are_told_apart_by_their_labels() -> None:
    """Two offcuts of one length: which is which stands in a row for each, beside the pieces it gives."""
    job, plan = north()
    use = plan.materials[0].patterns[1]
    stick = use.sticks[0]
    both = tuple(replace(stick, stick=name, offcut_id=label) for name, label in (("S5", "R-17"), ("S6", "R-18")))
    part = replace(plan.materials[0], patterns=(replace(use, stock=None, sticks=both),), runs=())
    rows = tables(next(cutting_pages(job, replace(plan, materials=(part,)))))[1].rows
    assert [row[1] for row in rows] == ["S5", "S6"]
    assert [row[2].rpartition(" from ")[2] for row in rows] == ["R-17", "R-18"]


def test_every_stick_has_a_box() -> None:
    """Boxes come in fives; very many are tallied on a line."""
    assert boxes(7) == f"{BOX * 5} {BOX * 2}"
    assert boxes(400) == "of 400 cut: ____________"


def test_room_and_renotching_are_said() -> None:
    """A piece with room is measured again first; with re-notched laps hem and lock are trimmed."""
    job, plan = north()
    settings = replace(job.materials[0].settings, lap_ends=LapEnds.RENOTCHED, kerf=inches("0.125"))
    job = replace(job, materials=(replace(job.materials[0], settings=settings),))
    use = plan.materials[0].patterns[3]
    with_room = replace(use, cuts=(replace(use.cuts[0], room=inches("0.5")),))
    page = next(cutting_pages(job, replace(plan, materials=(replace(plan.materials[0], patterns=(with_room,)),))))
    assert tables(page)[0].rows[0][5] == "11'-4\", room to 11'-4 1/2\": measure before cutting"
    assert "trim the nail hem and the lock" in paragraphs(page)
    assert 'Saw kerf allowed for: 1/8" a cut.' in paragraphs(page)


def test_hanging_goes_course_by_course_from_under_to_over() -> None:
    """The left panel is on top, so every course goes up from the right."""
    steps = tables(next(hanging_pages(*north())))[0].rows
    assert [row[3] for row in steps] == [f"N·{course}·{piece}" for course in (1, 2, 3) for piece in (3, 2, 1)]
    assert [row[1] for row in steps] == [str(n) for n in range(1, 10)]
    assert [row[5] for row in steps[:3]] == ["none", "none", "left"]


def test_no_step_needs_a_piece_that_is_not_made() -> None:
    """Panel S5 is cut for the third step, and its other piece, set aside then, is hung in the fourth."""
    steps = list(steps_of(layouts_of(*north()), north()[1], Unit.IN))
    assert steps[2].source == "S5, cut it; set aside N·2·3"
    assert steps[3].source == "S5, set aside at step 3"
    assert steps[5].source == "S6, cut it; set aside N·3·3; keep 3'-5 1/2\""
    made: set[str] = set()
    for step in steps:
        assert (step.piece.tag in made) == ("set aside at" in step.source)
        made |= set(re.findall(r"set aside (N·\d·\d)", step.source))


def test_cut_outs_are_given_from_each_pieces_own_ends() -> None:
    """The notch of 170 to 180 in is divided by a lap: 8 3/4 in of N·1·2, 2 1/4 in of N·1·3; the hole is in N·2·1."""
    rows = tables(next(hanging_pages(*north())))[1].rows
    assert rows[0][:5] == ("a", "N·1·2", "11'-9 1/4\"", '8 3/4"', '0"')
    assert rows[1][:5] == ("b", "N·1·3", '0"', '2 1/4"', "12'-3 3/4\"")
    assert rows[2] == (
        "c", "N·2·1", "3'-3 3/4\"", '6 1/2"', '18 3/4"', 'hole, its lower edge 5 1/8" above the lower lip',
    )  # fmt: skip


def test_notices_stand_where_they_apply() -> None:
    """A broken rule stands with its wall and place, what is of no wall with the order."""
    job, plan = wall_plans.wider_window()
    noted = replace(plan, warnings=(*plan.warnings, Notice("over_stock", "seven panels are needed of six")))
    assert "! course 3, at 11'-3 1/4\":" in paragraphs(next(hanging_pages(job, noted)))
    assert "seven panels are needed of six" in paragraphs(order_page(job, noted, BLOCK))


def test_each_material_begins_on_a_new_page() -> None:
    """Order, panel, trim and wall are four pages."""
    job, plan = north()
    trim = replace(job.materials[0], id="trim")
    both = replace(plan, materials=(*plan.materials, replace(plan.materials[0], material="trim", runs=())))
    pages = sheet_of(replace(job, materials=(*job.materials, trim)), both, BLOCK, MADE, Paper.A4).pages
    assert [page.title.split(",")[0] for page in pages][:3] == ["Order", "To cut: panel-sand", "To cut: trim"]
