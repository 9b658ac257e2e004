"""The week's work by keyboard alone: no mouse, no address typed."""

import pytest
from playwright.sync_api import Page, expect

from pipeline.book.decisions import standing_decisions
from tests.desk.conftest import Desk, Opened
from tests.desk.test_clerk import ROW

FOCUSED = "document.activeElement"
# No page has more places to stop at than this.
MOST_STOPS = 120


def tab_to(page: Page, what: str) -> None:
    """Press Tab until what has the focus is as asked, and can be seen to have it."""
    for _ in range(MOST_STOPS):
        page.keyboard.press("Tab")
        if page.evaluate(f"(() => {{ const e = {FOCUSED}; return Boolean({what}); }})()"):
            outline = page.evaluate(f"getComputedStyle({FOCUSED}).outlineStyle")
            assert outline != "none", f"the focus cannot be seen on {what}"
            return
    raise AssertionError(f"Tab never comes to {what} on {page.url}")


def link(address: str) -> str:
    return f"e.tagName === 'A' && e.getAttribute('href').startsWith('{address}')"


def test_queue_flag_decision_and_back_by_keyboard(desk: Desk, opened: Opened) -> None:
    page = opened("manager", "/season")
    tab_to(page, link("/queue"))
    page.keyboard.press("Enter")
    page.wait_for_url("**/queue")
    # The first stop leads past the menu.
    page.keyboard.press("Tab")
    assert page.evaluate(f"{FOCUSED}.className") == "skip"
    page.keyboard.press("Enter")
    tab_to(page, link("/flag/"))
    page.keyboard.press("Enter")
    page.wait_for_url("**/flag/*")
    flag = page.url.rpartition("/")[2]
    tab_to(page, "e.id === 'because'")
    page.keyboard.type("the receipt says so")
    page.keyboard.press("Escape")
    page.keyboard.press("l")
    page.wait_for_url("**done=*")
    (decided,) = [one for _, one in standing_decisions(desk.book.journal())]
    assert decided["flag"].startswith(flag.replace("-", "").lower()[:8])
    assert decided["action"] == "leave-out"
    # Back to the queue: it is there no more; then it is taken back.
    tab_to(page, link("/queue"))
    page.keyboard.press("Enter")
    page.wait_for_url("**/queue")
    assert page.locator(f'a[href*="{flag}"]').count() == 0
    tab_to(page, link("/decisions"))
    page.keyboard.press("Enter")
    page.wait_for_url("**/decisions")
    tab_to(page, "e.tagName === 'SUMMARY'")
    page.keyboard.press("Enter")
    tab_to(page, "e.name === 'because'")
    page.keyboard.type("another receipt")
    page.keyboard.press("Enter")
    expect(page.get_by_role("status")).to_contain_text("Taken back")
    assert list(standing_decisions(desk.book.journal())) == []


@pytest.mark.long
def test_a_paper_sheet_is_typed_and_sent_by_keyboard(desk: Desk, opened: Opened) -> None:
    page = opened("clerk", "/")
    tab_to(page, link("/type"))
    page.keyboard.press("Enter")
    page.wait_for_url("**/type")
    tab_to(page, link("/type/weighings"))
    page.keyboard.press("Enter")
    page.wait_for_url("**/type/weighings")
    tab_to(page, "e.name === 'name'")
    page.keyboard.type("weighings_KES_2026-W22")
    for name, value in (ROW | {"receipt_no": "61"}).items():
        tab_to(page, f"e.name === 'c-{name}'")
        page.keyboard.type(value)
    # Not through every empty cell of the page: one key leads to the next row, one past all rows.
    page.keyboard.press("Enter")
    assert page.evaluate(f"{FOCUSED}.getAttribute('aria-label')").endswith(", row 2")
    page.keyboard.press("Escape")
    assert page.evaluate(f"{FOCUSED}.name") == "count"
    page.keyboard.type("1")
    tab_to(page, "e.tagName === 'BUTTON' && e.innerText === 'Send the sheet'")
    page.keyboard.press("Enter")
    page.wait_for_url("**/sent/*")
    expect(page.locator("section").first.locator("dd")).to_have_text(
        ["1", "1", "0", "0", "0", "0"], timeout=120_000
    )
