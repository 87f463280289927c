"""The list at the counter: read as one types, asked about once, put right in place; hostile text is only text."""

from __future__ import annotations

import pytest
from playwright.sync_api import Page, Route, expect

from tests.browser.steps import MESSY, SHED, paste, paste_by_keyboard, plan, plan_shed, settle_messy, stock
from tests.support.files import workbook


def test_a_messy_list_becomes_an_order(page: Page) -> None:
    """Twenty-five lines of an e-mail: one question, one line to put right, one unknown material; then the order."""
    paste(page, MESSY)
    expect(page.locator("#said")).to_have_text("74 pieces read; 3 lines need a look.")
    settle_messy(page)
    page.locator("#job").fill("Tern Cottage, boat shed")
    page.locator("#customer").fill("Dana Whitlock")
    page.locator("#purchase_order").fill("4471-B")
    plan(page)
    order = page.locator(".order")
    for words in ("12'-6\"", "16'-8\"", "TS-126", "J-channel", "Total"):
        expect(order).to_contain_text(words)
    expect(page.locator(".facts")).to_contain_text("Dana Whitlock")
    expect(page.locator(".good")).to_contain_text("No cheaper order from these lengths and prices can cut this list.")


def test_lines_are_read_as_one_types(page: Page) -> None:
    """Each line stands beside its number with how many and how long, as a person says it."""
    page.locator("#text").press_sequentially("14 @ 9'7\" A\n(6) 142 3/8")
    expect(page.locator("#line-1 .found")).to_have_text("14 × 9'-7\" A")
    expect(page.locator("#line-2 .found")).to_have_text("6 × 11'-10 3/8\"")
    expect(page.locator("#said")).to_have_text("20 pieces read, every line clear.")


def test_an_answer_can_be_changed(page: Page) -> None:
    """The question stays, and another answer reads the lines anew."""
    paste(page, "9-7\n6-10")
    page.get_by_label("feet and inches").check()
    expect(page.locator("#line-2 .found")).to_have_text("1 × 6'-10\"")
    page.get_by_label("how many, then the length").check()
    expect(page.locator("#line-2 .found")).to_have_text('6 × 10"')


def test_a_line_can_be_left_out_and_put_back(page: Page) -> None:
    """It is struck out in the list itself, so that it is still there to be seen."""
    paste(page, "4 @ 8'\n4 @ about 60 inches or so")
    page.get_by_role("button", name="Leave out line 2").click()
    expect(page.locator("#said")).to_have_text("4 pieces read, every line clear.")
    expect(page.locator("#text")).to_have_value("4 @ 8'\n// 4 @ about 60 inches or so")
    page.get_by_role("button", name="Put back line 2").click()
    expect(page.locator("#said")).to_have_text("4 pieces read; 1 line needs a look.")


def test_pieces_without_a_material_are_asked_about(page: Page) -> None:
    """With two materials a line that names none is no guess; one answer does for all, and can be taken back."""
    page.locator("#m0-name").fill("sand panel")
    page.locator("#add-material").click()
    page.locator("#m1-name").fill("J-channel")
    paste(page, "4 @ 8'\n6 @ 9' J-channel")
    page.locator("#nameless").get_by_role("button", name="sand panel").click()
    expect(page.locator("#line-1 .found")).to_contain_text("4 × 8'-0\"")
    expect(page.locator("#nameless")).to_have_count(0)
    page.get_by_role("button", name="Ask again").click()
    expect(page.locator("#nameless")).to_be_visible()


def test_what_is_missing_is_said_where_it_is_missing(page: Page) -> None:
    """Plan without stock leads back to the field, with everything typed still there."""
    paste(page, SHED)
    page.locator("#plan").click()
    expect(page.locator("#faults")).to_be_focused()
    page.get_by_role("link", name="In which lengths is siding panel sold?").click()
    expect(page.locator("#m0-s0-length")).to_be_focused()
    expect(page.locator("#text")).to_have_value(SHED)


@pytest.mark.parametrize(("field", "typed", "words"), [
    ("m0-s0-length", "10-6", "can be read as"),
    ("m0-s0-price", "cheap", "must be decimal digits"),
    ("m0-s0-carton", "many", "must be a number"),
    ("m0-lap", "wide", "not a length"),
])  # fmt: skip
def test_a_field_that_cannot_be_read_is_named(page: Page, field: str, typed: str, words: str) -> None:
    """The fault stands at the field it is in."""
    paste(page, SHED)
    stock(page, 0, 0, "12' 6\"", "9.80")
    page.locator("#m0-settings summary").click()
    page.locator(f"#{field}").fill(typed)
    page.locator("#plan").click()
    expect(page.locator(f"#why-{field}")).to_contain_text(words)
    expect(page.locator(f"#{field}")).to_have_attribute("aria-invalid", "true")


def test_a_piece_longer_than_every_length_is_named_by_its_line(page: Page) -> None:
    """Soffit is not lapped: what is longer than the stock can't be cut, and line 2 says so."""
    paste(page, "4 @ 8'\n2 @ 14'")
    page.locator("#m0-category").select_option("soffit")
    expect(page.locator("#m0 legend")).to_have_text("soffit panel")
    stock(page, 0, 0, "12'", "9.80")
    page.locator("#plan").click()
    expect(page.get_by_role("link", name="Line 2: takes 14'-0\"")).to_be_visible()


@pytest.mark.parametrize("text", [
    "<script>document.title='gone'</script><img src=x onerror=\"document.title='gone'\">\n4 @ 8'",
    '=HYPERLINK("http://shop.example","click")\n4 @ 8\'',
    "\u202e4 @ 8'\u202c [\u202eA]\n4 @ 8'",
    "\x01\x02\x1b[31m\ufffe\ufffd binary \x7f\n4 @ 8'",
])  # fmt: skip
def test_hostile_text_is_shown_as_text(page: Page, text: str) -> None:
    """Nothing in a list is carried out; the piece below it is still read."""
    paste(page, text)
    expect(page.locator("#line-2 .found")).to_contain_text("4 × 8'-0\"")
    assert page.title() == "Cut list · lapstock"
    assert page.locator("#reading script, #reading img, #reading a").count() == 0


def test_a_megabyte_of_prose_does_not_hold_the_page_up(page: Page) -> None:
    """It is refused in words, and the page goes on to read what replaces it."""
    paste_by_keyboard(page, "the quick brown fox jumps over the lazy dog\n" * 24_000)
    expect(page.locator("#said")).to_contain_text("This is too much text for one list")
    paste_by_keyboard(page, "4 @ 8'")
    expect(page.locator("#said")).to_have_text("4 pieces read, every line clear.")


def test_a_list_of_thousands_is_read_and_shown_in_part(page: Page) -> None:
    """Two thousand lines: every piece counts, the page shows the first ones and says that the list goes on."""
    paste_by_keyboard(page, "3 @ 8' 4\"\n" * 2_000)
    expect(page.locator("#said")).to_have_text("6,000 pieces read, every line clear.", timeout=20_000)
    expect(page.locator("#reading")).to_contain_text("more lines, read but not shown")
    assert page.locator(".lines li").count() <= 460


def test_a_material_is_remembered(page: Page) -> None:
    """What was planned with is offered by name the next time, and filled in when picked."""
    page.locator("#m0-name").fill("sand panel")
    stock(page, 0, 0, "12' 6\"", "9.80", "TS-126", "24")
    stock(page, 0, 1, "16' 8\"", "13.40")
    paste(page, SHED)
    plan(page)
    page.goto("/")
    expect(page.locator('#known option[value="sand panel"]')).to_have_count(1)
    page.locator("#m0-name").fill("sand panel")
    page.locator("#m0-name").press("Tab")
    expect(page.locator("#m0-s0-code")).to_have_value("TS-126")
    expect(page.locator("#m0-s1-length")).to_have_value("16' 8\"")


def test_the_catalogue_goes_before_what_is_remembered(page: Page) -> None:
    """A price that was planned with on this machine gives way to the one that holds for everybody.

    As one types, a name on the list is offered as the catalogue's; with one press it has its row.
    """
    page.evaluate("""localStorage.setItem("lapstock.materials",
      JSON.stringify({"lath-umber": {"-name": "lath-umber", "-s0-length": "10 ft", "-s0-price": "1.00"}}))""")
    row = {"id": "12-6", "length": 150, "price": "9.80"}
    lath = {"units": "in", "category": "other", "also": ["undersill"], "stock": [row]}
    page.request.put("/v1/materials/lath-umber", data=lath)
    try:
        page.reload()
        page.locator("#m0-name").fill("lath-umber")
        page.locator("#m0-name").press("Tab")
        expect(page.locator("#m0-s0-price")).to_have_value("9.80")
        page.locator("#m0-name").fill("panel")
        paste(page, "Undersill:\n6 @ 11'10")
        page.get_by_role("button", name="lath-umber", exact=True).click()
        expect(page.locator("#m1-s0-price")).to_have_value("9.80")
        expect(page.locator("#said")).to_have_text("6 pieces read, every line clear.")
    finally:
        page.request.delete("/v1/materials/lath-umber")


@pytest.mark.parametrize("delay", [0, 250])
def test_what_is_remembered_gives_way_to_what_is_typed(page: Page, delay: int) -> None:
    """Whether the remembered length comes before the first key or between two, what is typed is what stands there."""
    paste(page, SHED)
    page.locator("#m0-name").fill("sand")
    stock(page, 0, 0, "12' 6\"", "9.80")
    plan(page)
    page.goto("/")
    paste(page, SHED)
    # the answer to the name comes so many milliseconds late
    page.evaluate(
        """delay => {
      const send = window.fetch;
      const late = () => new Promise((done) => setTimeout(done, delay));
      window.fetch = async (...asked) => { await late(); return send(...asked); };
    }""",
        delay,
    )
    page.locator("#m0-name").fill("sand")
    page.keyboard.press("Tab")
    if not delay:
        expect(page.locator("#m0-s0-length")).to_have_value("12' 6\"")
    page.keyboard.press("Tab")
    expect(page.locator("#m0-s0-length")).to_be_focused()
    page.keyboard.type("16' 8", delay=90)
    expect(page.locator("#m0-s0-price")).to_have_value("9.80")
    expect(page.locator("#m0-s0-length")).to_have_value("16' 8")


def test_left_overs_on_hand_come_first(page: Page) -> None:
    """Four pieces of 61 1/2 on hand give four of the 50 in: five panels are bought where it were six."""
    page.locator("#add-offcut").click()
    expect(page.locator("#o0-length")).to_be_focused()
    page.locator("#o0-length").fill("61 1/2")
    page.locator("#o0-quantity").fill("4")
    plan_shed(page)
    expect(page.locator(".order")).to_contain_text("From offcuts on hand")
    expect(page.locator(".order tbody tr")).to_contain_text("5 panels")


def test_what_was_opened_stays_open(page: Page) -> None:
    """Adding a length, another type or another name makes the materials anew: the settings stay in sight."""
    paste(page, "4 @ 50")
    kerf = page.locator("#m0-kerf")
    page.locator("#m0-settings summary").click()
    kerf.fill("1/8")
    page.locator("#m0-add").click()
    expect(page.locator("#m0-s2-length")).to_be_focused()
    expect(kerf).to_be_visible()
    page.locator("#m0-category").select_option("soffit")
    expect(page.locator("#m0-settings summary")).to_contain_text("kerf 1/8")
    expect(kerf).to_be_visible()
    page.locator("#m0-settings summary").click()
    page.locator("#m0-add").click()
    expect(page.locator("#m0-s3-length")).to_be_focused()
    expect(kerf).to_be_hidden()


def test_what_is_typed_while_the_server_answers_is_kept(page: Page) -> None:
    """A slow answer to one change writes over nothing that was typed since: neither the list nor another field."""
    held: list[Route] = []

    def hold_the_first(route: Route) -> None:
        if held:
            route.continue_()
        else:
            held.append(route)

    page.route("**/", hold_the_first)
    page.locator("#m0-name").fill("sand panel")
    page.locator("#m0-name").press("Tab")
    page.locator("#m0-s0-length").fill("12' 6\"")
    page.locator("#text").fill(SHED)
    held[0].continue_()
    expect(page.locator("#m0 legend")).to_have_text("sand panel")
    expect(page.locator("#said")).to_have_text("14 pieces read, every line clear.")
    expect(page.locator("#text")).to_have_value(SHED)
    expect(page.locator("#m0-s0-length")).to_have_value("12' 6\"")


def test_a_workbook_is_opened(page: Page) -> None:
    """Choosing a file is enough: its rows are the list, read, with what became of each line."""
    rows = [["Qty", "Length", "Note"], ["14", "9'-7\"", "north"], ["6", "142.375", ""], ["20", "", "total"]]
    page.locator("#file").set_input_files(
        {"name": "list.xlsx", "mimeType": "application/octet-stream", "buffer": workbook({"List": rows})}
    )
    expect(page.locator("#said")).to_have_text("20 pieces read, every line clear.")
    expect(page.locator("#text")).to_have_value("Qty\tLength\tNote\n14\t9'-7\"\tnorth\n6\t142.375\n20\t\ttotal")
    expect(page.locator("#account")).to_contain_text("The total in line 4 agrees.")


def test_what_is_typed_is_there_after_a_reload_and_back(page: Page) -> None:
    """The list, the stock and the customer come back after a reload, from another page, and after planning."""
    paste(page, SHED)
    stock(page, 0, 0, "12' 6\"", "9.80")
    page.locator("#customer").fill("Dana Whitlock")
    page.reload()
    expect(page.locator("#text")).to_have_value(SHED)
    expect(page.locator("#customer")).to_have_value("Dana Whitlock")
    expect(page.locator("#m0-s0-price")).to_have_value("9.80")
    page.get_by_role("link", name="From measurements").click()
    page.go_back()
    expect(page.locator("#text")).to_have_value(SHED)
    plan(page)
    page.go_back()
    expect(page.locator("#text")).to_have_value(SHED)
    page.goto("/")
    expect(page.get_by_role("link", name="Dana Whitlock")).to_have_count(1)


def test_nothing_refused_is_remembered(page: Page) -> None:
    """A material whose price was refused is not offered; planned with another, it is, with that price."""
    paste(page, SHED)
    page.locator("#m0-name").fill("clay")
    stock(page, 0, 0, "12' 6\"", "abc")
    page.locator("#plan").click()
    expect(page.locator("#faults")).to_contain_text("price each")
    page.goto("/")
    expect(page.locator("#known option[value=clay]")).to_have_count(0)
    paste(page, SHED)
    page.locator("#m0-name").fill("clay")
    stock(page, 0, 0, "12' 6\"", "9.80")
    plan(page)
    page.goto("/")
    expect(page.locator("#known option[value=clay]")).to_have_count(1)
