"""The saw sheet: what it says of the boat shed and of the north wall, stop by stop."""

from __future__ import annotations

from dataclasses import replace

from service.documents.blocks import BOX, Cuts, Figure, Page, Role
from service.documents.cutting_page import boxes, cutting_pages
from service.documents.laying import LOOKS
from service.drawing.lettering import taped
from service.views.pieces import pieces_of
from solver.categories import LapEnds
from solver.job import Job
from solver.lengths import Unit
from solver.materials import CUTTING
from solver.plan import CutPlan, NotCut
from solver.required import Keeps, Ripped
from tests import scenario
from tests.scenario import MILLIMETRE, inches
from tests.support import plans
from tests.support.drawings import words
from tests.support.sheets import north, paragraphs, settings


def saw(job: Job, plan: CutPlan) -> Page:
    """Return the saw sheet of a plan."""
    return next(cutting_pages(job, plan))


def test_the_shed_is_two_settings() -> None:
    """Four panels are cut at 9'-7", the next cut at 115 + 34 1/2 = 149 1/2 on the tape; two into three of 4'-2"."""
    assert settings(saw(scenario.shed(), plans.shed())) == [
        [["4 × ☐☐☐☐ S1 to S4", "9'-7\" A", '34 1/2" ▾ 12\'-5 1/2" C', 'scrap 1/2"']],
        [["2 × ☐☐ S5 to S6", "3 × 4'-2\" ▾ 4'-2\", 8'-4\" B"]],
    ]


def test_what_the_customer_wrote_stands_beside_each_length() -> None:
    """In quotes behind the name, a long line cut short; what hangs on a wall is named by its place."""
    job, plan = scenario.shed(), plans.shed()
    a, b, c = job.required
    told = replace(job, required=(a, replace(b, words="6 @\t50 bath  window"), replace(c, words="porch " * 20)))
    assert settings(saw(told, plan)) == [
        [["4 × ☐☐☐☐ S1 to S4", "9'-7\" A", f'34 1/2" ▾ 12\'-5 1/2" C “{"porch " * 9}porch…”', 'scrap 1/2"']],
        [["2 × ☐☐ S5 to S6", "3 × 4'-2\" ▾ 4'-2\", 8'-4\" B “6 @ 50 bath window”"]],
    ]
    assert "as the customer wrote it" in paragraphs(saw(told, plan))
    assert "as the customer wrote it" not in paragraphs(saw(job, plan))
    assert {piece.words for piece in pieces_of(told, plan) if piece.name == "B"} == {"“6 @ 50 bath window”"}
    wall, laid = north()
    hung = replace(wall, required=tuple(replace(item, words="N wall") for item in wall.required))
    assert settings(saw(hung, laid)) == settings(saw(wall, laid))


def test_stops_come_from_the_longest_to_the_shortest() -> None:
    """The whole panels, then 136, 114 1/2 and 65 in, whichever end they are cut from."""
    lengths = [
        max(word.text for line in setting.lines for cell in line.cells for word in cell if word.role is Role.LENGTH)
        for block in saw(*north()).blocks
        if isinstance(block, Cuts)
        for setting in block.settings
    ]
    assert lengths == ["12'-6\"", "11'-4\"", "9'-6 1/2\"", "5'-5\""]


def test_sticks_of_one_piece_stand_behind_one_another() -> None:
    """Four whole panels of the north wall: one stop, and each panel with its box and where its piece hangs."""
    first = settings(saw(*north()))[0]
    assert first == [
        ["4 ×", "12'-6\" whole"],
        ["", "☐ S1 north 1·2 notch", "☐ S2 north 1·3 notch", "☐ S3 north 2·2", "☐ S4 north 3·2"],
    ]


def test_a_piece_at_the_right_end_is_measured_from_there() -> None:
    """S5: 114 1/2 from the left end, 29 1/2 from the right one, 6 in between them fall off."""
    assert [["☐ S5", "9'-6 1/2\" north 2·3", 'scrap 6"', '29 1/2" ◂ north 1·1']] in settings(saw(*north()))


def test_what_is_kept_is_told_where_it_is_cut() -> None:
    """S6 leaves 41 1/2 in between two pieces; with labels the one of its stick is written on it."""
    job, plan = north()
    cells = settings(saw(job, plan))[-1][0]
    assert cells[2] == "keep 3'-5 1/2\" no factory end"
    assert settings(next(cutting_pages(job, plan, {"S6": "MO3"})))[-1][0][2] == "keep 3'-5 1/2\" no factory end MO3"


def test_lengths_can_be_read_with_gloves_on() -> None:
    """Fourteen points or more for what the saw is set to; nothing under nine."""
    assert LOOKS[Role.LENGTH].size >= 14
    assert min(look.size for look in LOOKS.values()) >= 9


def test_the_first_cut_stands_on_the_first_page_below_three_sentences() -> None:
    """Eyes and hands first; ladders, lead and heat are for the wall and come after the cuts."""
    page = saw(*north())
    text = paragraphs(page)
    assert text.index(CUTTING) < text.index("Panel face toward you, nail hem up.") < text.index("Set ladders")
    assert sum(isinstance(block, Cuts) for block in page.blocks[:5]) == 1


def test_every_sign_is_explained() -> None:
    """The triangles, the box, bold words and the names of pieces."""
    text = paragraphs(saw(*north()))
    for sign in ("▾", "◂", BOX, "Bold:", "Keep:", "north 2·3 is the 3rd piece from the left in course 2 of wall north"):
        assert sign in text


def test_there_are_no_prices_at_the_saw() -> None:
    """A panel costs 9.80, six come to 58.80."""
    job = scenario.shed()
    page = saw(job, plans.shed())
    said = f"{paragraphs(page)} {settings(page)}"
    assert "9.80" not in said
    assert "58.80" not in said


def test_offcuts_cut_alike_are_told_apart_by_their_labels() -> None:
    """Two offcuts of one length: which is which stands in a line for each, beside the pieces it gives."""
    job, plan = north()
    use = plan.materials[0].patterns[1]
    stick = use.sticks[0]
    both = tuple(replace(stick, stick=name, offcut_id=label) for name, label in (("S5", "R-17"), ("S6", "R-18")))
    part = replace(plan.materials[0], patterns=(replace(use, stock=None, sticks=both),), runs=())
    lines = settings(saw(job, replace(plan, materials=(part,))))[0]
    assert [line[0] for line in lines] == ["2 ×", "☐ S5 R-17, 12'-6\"", "☐ S6 R-18, 12'-6\""]


def test_every_stick_has_a_box() -> None:
    """Boxes come in fives; very many are tallied on a line."""
    assert boxes(7) == f"{BOX * 5} {BOX * 2}"
    assert boxes(400) == "of 400 cut: ____________"


def test_room_and_renotching_are_said() -> None:
    """A piece with room is measured again first; with re-notched laps hem and lock are trimmed."""
    job, plan = north()
    altered = replace(job.materials[0].settings, lap_ends=LapEnds.RENOTCHED, kerf=inches("0.125"))
    job = replace(job, materials=(replace(job.materials[0], settings=altered),))
    use = plan.materials[0].patterns[3]
    with_room = replace(use, cuts=(replace(use.cuts[0], room=inches("0.5")),))
    page = saw(job, replace(plan, materials=(replace(plan.materials[0], patterns=(with_room,), runs=()),)))
    assert "11'-4\" ◂ room to 11'-4 1/2\": measure before cutting north 3·1" in settings(page)[0][0]
    assert "trim the nail hem and the lock" in paragraphs(page)
    assert 'Saw kerf allowed for: 1/8" a cut.' in paragraphs(page)


def test_notches_are_drawn_with_their_distance_from_both_ends() -> None:
    """Of 170 to 180 in a lap leaves 8 3/4 in to north 1·2 and 2 1/4 in to 1·3; the hole in 2·1 is 6 1/2 wide."""
    drawn = [words(block.drawing) for block in saw(*north()).blocks if isinstance(block, Figure)]
    assert drawn == [
        [
            "north 1·2", "12'-6\" long", '8 3/4"', "11'-9 1/4\"", 'from the lip up to 2"',
            "north 1·3", "12'-6\" long", '2 1/4"', "12'-3 3/4\"", 'from the lip up to 2"',
            "north 2·1", "5'-5\" long", '6 1/2"', '18 3/4"', "3'-3 3/4\"", 'hole, lower edge 5 1/8"', "above the lip",
        ]
    ]  # fmt: skip


def test_a_rip_is_told_with_the_pieces_it_is_for() -> None:
    """Course 3 is ripped to 4 in: its three pieces, on the sheet that hangs at the saw."""
    job, plan = north()
    rip = Ripped(inches(4), inches(4), Keeps.LIP, 3)
    ripped = replace(job, required=(replace(job.required[0], rips=(rip,)), *job.required[1:]))
    page = saw(ripped, plan)
    assert 'Rip to 4", keep the lip: north 3·2, north 3·3, north 3·1.' in paragraphs(page)
    assert ["☐ S7", 'scrap 14"', "11'-4\" ◂ north 3·1 rip"] in settings(page)[1]


def test_lengths_are_as_a_tape_shows_them() -> None:
    """724 mm are 28.504 in: 28 1/2 on an inch sheet. Sixty-fourths that were asked for stay; millimetres are whole."""
    assert taped(724 * MILLIMETRE, Unit.IN) == '28 1/2"'
    assert taped(inches("34.515625"), Unit.IN) == '34 33/64"'
    assert taped(3514 * MILLIMETRE + 128, Unit.MM) == "3514 mm"


def test_a_metric_piece_on_an_inch_sheet_has_no_decimals() -> None:
    """The shed with C of 724 mm: every figure at the saw is one of a tape."""
    job = scenario.with_metric()
    shed = plans.shed()
    use = shed.materials[0].patterns[0]
    metric = replace(use, cuts=(use.cuts[0], replace(use.cuts[1], length=724 * MILLIMETRE)))
    part = replace(shed.materials[0], patterns=(metric,))
    assert '28 1/2" ▾ 11\'-11 1/2" C' in settings(saw(job, replace(shed, materials=(part,))))[0][0]


def test_a_material_of_which_nothing_can_be_cut_has_no_page() -> None:
    """No page of cuts without a cut."""
    job, plan = north()
    none = replace(plan, order=(), materials=(replace(plan.materials[0], patterns=(), runs=()),))
    assert not list(cutting_pages(job, replace(none, not_cut=(NotCut(0, "N", 3, "stock_exhausted", "none left"),))))


def test_materials_share_a_page() -> None:
    """Panel and trim follow one another."""
    job, plan = north()
    trim = replace(job.materials[0], id="trim")
    both = replace(plan, materials=(*plan.materials, replace(plan.materials[0], material="trim", runs=())))
    pages = list(cutting_pages(replace(job, materials=(*job.materials, trim)), both))
    assert len(pages) == 1
    assert "trim, double 4 in panel, sand: 7 panels" in paragraphs(pages[0])
