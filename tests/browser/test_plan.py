"""The plan at the counter: the order first, on paper, planned again without a length, reopened by its address."""

from __future__ import annotations

import csv
import re
from io import BytesIO
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect
from pypdf import PdfReader

from tests.browser.steps import MESSY, SHED, order_shown, paste, plan, plan_shed, settle_messy, stock
from tests.support.chromium import opened
from tests.support.stack import Stack


def printed(page: Page) -> str:
    """Return the text of the page as printed to PDF, with single spaces."""
    reader = PdfReader(BytesIO(page.pdf(format="Letter")))
    return re.sub(r"\s+", " ", " ".join(sheet.extract_text() for sheet in reader.pages))


def test_the_order_comes_first(page: Page) -> None:
    """Six panels at 9.80, their total, where the length goes, and the proof in plain words."""
    plan_shed(page)
    expect(page.locator(".order tbody tr")).to_contain_text("6 panels")
    expect(page.locator("tfoot")).to_contain_text("58.80")
    good = page.locator(".good")
    expect(good).to_contain_text("No cheaper order from these lengths and prices can cut this list.")
    expect(good).to_contain_text("Of 75'-0\" bought, 74'-10\" go into the pieces")
    expect(page.locator("figure svg")).to_have_count(2)


def test_a_messy_list_is_on_paper(page: Page) -> None:
    """From the e-mail to the printed order and the printed cut sheet; both say what the screen says."""
    paste(page, MESSY)
    settle_messy(page)
    page.locator("#job").fill("Tern Cottage, boat shed")
    page.locator("#purchase_order").fill("4471-B")
    plan(page)
    total = page.locator("tfoot .amount").inner_text()
    order = printed(page)
    for words in ("Order", "Tern Cottage, boat shed", "4471-B", "TS-126", total, "One lot number, please"):
        assert words in order
    assert "Out of stock" not in order
    page.goto(str(page.locator("#sheet").get_attribute("href")))
    sheet = printed(page)
    for words in ("siding panel: ", "J-channel: ", "4471-B", "nail hem up", "11'-6 3/16\""):
        assert words in sheet
    assert total not in sheet


def test_the_order_as_a_file_and_as_text(page: Page) -> None:
    """CSV for the till, text for a message: both hold the code, the count and the price."""
    paste(page, SHED)
    stock(page, 0, 0, "12' 6\"", "9.80", "=TS-126")
    plan(page)
    with page.expect_download() as loading:
        page.get_by_role("link", name="Order as CSV").click()
    rows = list(csv.DictReader(Path(loading.value.path()).read_text("utf-8").splitlines()))
    assert [(row["code"], row["sticks"], row["amount"]) for row in rows] == [("'=TS-126", "6", "58.80")]
    page.context.grant_permissions(["clipboard-read", "clipboard-write"])
    page.locator("#copy").click()
    expect(page.locator("#copy")).to_have_text("Copied")
    copied = page.evaluate("navigator.clipboard.readText()")
    assert "6 panels 12'-6\" siding panel (code =TS-126)" in copied
    assert "Total 58.80" in copied


def test_the_cut_sheet_as_pdf(page: Page) -> None:
    """The link answers with a PDF of the same plan."""
    plan_shed(page)
    link = page.get_by_role("link", name="Cut sheet as PDF").get_attribute("href")
    answer = page.request.get(str(link))
    text = " ".join(sheet.extract_text() for sheet in PdfReader(BytesIO(answer.body())).pages)
    assert "Tern Cottage, boat shed" in text


def test_out_of_stock_plans_again(page: Page) -> None:
    """Without the cheap length the other one is ordered; once it is in stock again the first order is back."""
    paste(page, SHED)
    stock(page, 0, 0, "12' 6\"", "9.80")
    stock(page, 0, 1, "16' 8\"", "15.40")
    plan(page)
    first = page.locator("tfoot .amount").inner_text()
    page.get_by_role("button", name="Out of stock 12'-6\"").click()
    expect(page.locator(".said")).to_contain_text("Planned without panel siding panel, 12'-6\"")
    expect(page.locator(".order tbody tr")).to_have_count(1)
    expect(page.locator("tbody .length")).to_have_text("16'-8\"")
    page.get_by_role("button", name="It is in stock again").click()
    expect(page.locator("tbody .length").first).to_have_text("12'-6\"")
    expect(page.locator("tfoot .amount")).to_have_text(first)


def test_without_it_nothing_fits(page: Page) -> None:
    """Where the length that is out is the only one long enough, the page says which pieces can't be cut, and stays."""
    paste(page, "4 @ 14'\n4 @ 8'")
    page.locator("#m0-category").select_option("soffit")
    expect(page.locator("#m0 legend")).to_have_text("soffit panel")
    stock(page, 0, 0, "16'", "9.80")
    stock(page, 0, 1, "12'", "7.40")
    plan(page)
    page.get_by_role("button", name="Out of stock 16'-0\"").click()
    expect(page.locator("#faults")).to_be_focused()
    expect(page.locator("#faults")).to_contain_text("takes 14'-0\"")


def test_the_address_opens_the_plan_again(page: Page, browser: Browser, counter: str) -> None:
    """Sent to somebody else, the address shows the same order with its title block."""
    page.locator("#customer").fill("Dana Whitlock")
    plan_shed(page)
    with opened(browser, counter) as other:
        other.goto(page.url)
        expect(other.locator("tfoot")).to_contain_text("58.80")
        expect(other.locator(".facts")).to_contain_text("Dana Whitlock")


def test_a_plan_leads_back_to_its_list(page: Page) -> None:
    """Change this list: the form holds the list, the stock and the job again, and plans to the same order."""
    page.locator("#customer").fill("Dana Whitlock")
    plan_shed(page)
    page.get_by_role("link", name="Change this list").click()
    expect(page.locator("#customer")).to_have_value("Dana Whitlock")
    expect(page.locator("#m0-s0-length")).to_have_value("12'-6\"")
    expect(page.locator("#said")).to_have_text("14 pieces read, every line clear.")
    plan(page)
    expect(page.locator("tfoot")).to_contain_text("58.80")


def test_an_unknown_address_is_answered_in_words(page: Page) -> None:
    """A mistyped address shows a page with a way back, not a program's answer."""
    answer = page.request.get("/plans/0000")
    assert (answer.status, answer.headers["content-type"]) == (404, "text/html; charset=utf-8")
    assert "There is nothing here" in answer.text()


def test_progress_and_stopping(browser: Browser, slow: str) -> None:
    """While it works, cost stands against bound; stopping shows the plan there was: seven panels, 68.60."""
    with opened(browser, slow) as page:
        page.goto("/")
        paste(page, SHED)
        stock(page, 0, 0, "12' 6\"", "9.80")
        page.locator("#job").fill("hang")
        page.locator("#plan").click()
        expect(page.locator("#cost")).to_have_text("60.00")
        expect(page.locator("#bound")).to_have_text("55.50")
        assert page.locator("#gauge").evaluate("bar => bar.value") == pytest.approx(0.925)
        page.get_by_role("button", name="Stop and use").click()
        order_shown(page)
        expect(page.locator("tfoot")).to_contain_text("68.60")
        expect(page.locator(".note")).to_have_text("Stopped by hand: this is the best plan found until then.")


def test_planned_twice_is_planned_once(serving: Stack, page: Page) -> None:
    """The same form sent twice leads to the same plan; changed, it leads to another."""
    paste(page, SHED)
    stock(page, 0, 0, "12' 6\"", "9.80")
    form = page.evaluate("Object.fromEntries(new FormData(document.getElementById('counter')))")
    form["do"] = "plan"
    first, second = (serving.client.post("/", data=form).headers["Location"] for _ in range(2))
    assert first == second
    changed = serving.client.post("/", data={**form, "m0-s0-price": "9.90"}).headers["Location"]
    assert changed != first
