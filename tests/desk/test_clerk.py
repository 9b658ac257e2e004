"""The clerk's and the trainer's work in a browser, with a line that fails."""

import csv
import re
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from tests.desk.conftest import OFF, Desk, Opened
from tests.desk.test_manager import sound
from tests.take.small import ASHA, sheet

pytestmark = pytest.mark.browser
PIXEL = bytes.fromhex(
    "89504e470d0a1a0a0000000d49484452000000010000000108060000001f15c4890000000d4944415478da63fcffff3f"
    "030005fe02fea7356d6e0000000049454e44ae426082"
)


def test_several_sheets_are_sent_and_each_says_what_became_of_it(
    desk: Desk, opened: Opened, tmp_path: Path
) -> None:
    week = {"day": "2026-05-11"}
    good = sheet(tmp_path, "weighings_KES_2026-W20.csv", "weighings", [week | {"receipt_no": "21"}])
    doubtful = [
        week | {"receipt_no": "31", "recorder": "Ana Lutt"},
        week | {"receipt_no": "32", "gross_kg": "6l.2", "recorder": "Ana Lutt"},
        week | {"receipt_no": "33", "recorder": "Ana Lutt"} | OFF,
    ]
    bad = sheet(tmp_path, "weighings_KES_2026-W20_second.csv", "weighings", doubtful)
    photo = tmp_path / "paper.png"
    photo.write_bytes(PIXEL)
    page = opened("clerk", "/sheets")
    page.set_input_files("#sheet", [good, bad, photo])
    page.get_by_role("button", name="Send", exact=True).click()
    page.wait_for_url("**/sent/*")
    expect(page.get_by_role("status")).to_contain_text("done", timeout=120_000)
    sound(page)
    parts = page.locator("section")
    expect(parts.nth(0).locator("dd")).to_have_text(["1", "1", "0", "0", "0", "0"])
    expect(parts.nth(1).locator("dd")).to_have_text(["3", "1", "1", "1", "0", "0"])
    expect(parts.nth(2)).to_contain_text("This is a picture or a scanned paper")
    # The sheet itself: doubtful cells marked, the sentence beside them.
    parts.nth(1).get_by_role("link", name="weighings_KES_2026-W20_second.csv").click()
    sound(page)
    # The sheet comes in late, and receipts before 31 are missing: both are noted.
    expect(page.locator("td.doubt")).to_have_text(["2026-05-11", "31", "6l.2", "61.25"])
    unread = page.locator("tr", has_text="6l.2").locator("td.says")
    expect(unread).to_contain_text("sent back")
    # The correction sheet, filled in and sent back.
    with page.expect_download() as got:
        page.get_by_role("link", name="Take the correction sheet").click()
    mended = corrected(Path(got.value.path()), tmp_path / "mended.csv")
    page.goto(desk.url + "/sheets")
    page.set_input_files("#sheet", mended)
    page.get_by_role("button", name="Send", exact=True).click()
    expect(page.get_by_role("status")).to_contain_text("done", timeout=120_000)
    expect(page.locator("section").first.locator("dd").nth(1)).to_have_text("1")
    # Again the very same: nothing changes, and it says so.
    page.goto(desk.url + "/sheets")
    page.set_input_files("#sheet", good)
    page.get_by_role("button", name="Send", exact=True).click()
    expect(page.locator("section").first).to_contain_text("taken before", timeout=120_000)
    # What a later version changed.
    page.goto(desk.url + "/sheets?name=W18_b")
    page.get_by_role("link", name="version 2").click()
    expect(page.locator("main")).to_contain_text("2026-04-28")
    page.goto(desk.url + "/awaited?week=2026-W20")
    expect(page.locator("main")).to_contain_text("Station weighings: in")


def corrected(path: Path, to: Path) -> Path:
    """Fill a correction sheet in as a clerk does: the wrong cell is written anew."""
    from pipeline.intake.limits import DEFAULT
    from pipeline.intake.read import read_cells

    cells = read_cells(path.read_bytes(), "", DEFAULT)
    with to.open("w", encoding="utf-8", newline="") as file:
        out = csv.writer(file)
        out.writerow(cells.headings)
        for row in cells.frame.iter_rows(named=True):
            line = [row[f"c{place}"] or "" for place in range(len(cells.headings))]
            out.writerow([re.sub("^6l.2$", "61.2", cell) for cell in line])
    return to


def test_without_script_sheets_are_sent_all_the_same(
    desk: Desk, opened: Opened, tmp_path: Path
) -> None:
    day = {"day": "2026-05-18", "receipt_no": "41"}
    page = opened("clerk", "/sheets", width=360, script=False)
    page.set_input_files(
        "#sheet", sheet(tmp_path, "weighings_KES_2026-W21.csv", "weighings", [day])
    )
    page.get_by_role("button", name="Send", exact=True).click()
    expect(page.locator("section")).to_contain_text("counted", timeout=120_000)


ROW = {
    "station": "KES",
    "day": "2026-05-25",
    "receipt_book": "K01",
    "receipt_no": "51",
    "line": "1",
    "member_no": ASHA,
    "species": "arabica",
    "form": "parchment",
    "grade": "1",
    "gross_kg": "61.2",
    "tare_kg": "1.2",
    "net_kg": "60.0",
    "scale": "KES-1",
    "recorder": "Ibo Marren",
}


def typed(page: Page, at: int, **changes: str) -> None:
    for name, value in (ROW | changes).items():
        page.locator(f"[name=c-{name}]").nth(at).fill(value)


def test_a_paper_sheet_is_typed_checked_kept_while_the_line_is_down_and_sent(
    desk: Desk, opened: Opened, tmp_path: Path
) -> None:
    page = opened("clerk", "/type/weighings")
    sound(page)
    typed(page, 0)
    typed(page, 1, receipt_no="52", gross_kg="41.2", net_kg="40.0")
    page.get_by_label("Name of the sheet").fill("weighings_KES_2026-W22")
    page.get_by_label("Rows on the paper").fill("3")
    page.get_by_label("Total of Net kg").fill("100")
    expect(page.locator("[data-count]")).to_have_text("typed: 2")
    expect(page.locator("[data-sum=net_kg]")).to_have_text("typed: 100")
    photo = tmp_path / "paper.png"
    photo.write_bytes(PIXEL)
    page.get_by_label("Photograph of the paper").set_input_files(photo)
    expect(page.locator("img#paper")).to_be_visible()
    page.get_by_role("button", name="Send the sheet").click()
    expect(page.locator("#kept")).to_contain_text("The paper has 3 rows, and 2 are typed")
    # The line is down: what was typed stays in the browser, over a reload too.
    page.get_by_label("Rows on the paper").fill("2")
    page.context.set_offline(True)
    page.get_by_role("button", name="Send the sheet").click()
    expect(page.locator("#kept")).to_contain_text("The line is down")
    assert page.evaluate("localStorage.length") == 1
    page.context.set_offline(False)
    page.wait_for_url("**/sent/*")
    expect(page.locator("section").first.locator("dd")).to_have_text(
        ["2", "2", "0", "0", "0", "0"], timeout=120_000
    )
    expect(page.locator("section").nth(1)).to_contain_text("This is a picture or a scanned paper")
    assert page.evaluate("localStorage.length") == 0


def test_what_was_typed_comes_back_after_the_page_was_left(
    desk: Desk, opened: Opened, tmp_path: Path
) -> None:
    page = opened("clerk", "/type/weighings", width=360)
    photo = tmp_path / "paper.png"
    photo.write_bytes(PIXEL)
    page.get_by_label("Photograph of the paper").set_input_files(photo)
    expect(page.locator("img#paper")).to_be_visible()
    page.get_by_role("button", name="One more row").click()
    typed(page, 12, receipt_no="77")
    page.goto(desk.url + "/sheets")
    page.goto(desk.url + "/type/weighings")
    expect(page.locator("#kept")).to_contain_text("Brought back")
    expect(page.locator("[name=c-receipt_no]").nth(12)).to_have_value("77")
    # The photograph too: the form sends it as if it had just been chosen.
    expect(page.locator("img#paper")).to_be_visible()
    assert page.evaluate("document.getElementById('photo').files[0].size") == len(PIXEL)


def test_a_paper_sheet_is_typed_without_script(desk: Desk, opened: Opened) -> None:
    page = opened("clerk", "/type/weighings", script=False)
    typed(page, 0, day="2026-06-01", receipt_no="61")
    page.get_by_label("Name of the sheet").fill("weighings_KES_2026-W23")
    page.get_by_label("Rows on the paper").fill("1")
    page.get_by_label("Total of Net kg").fill("61")
    page.get_by_role("button", name="Send the sheet").click()
    expect(page.get_by_role("alert")).to_contain_text(
        "the paper says 61, the rows typed come to 60"
    )
    page.get_by_label("Total of Net kg").fill("60")
    page.get_by_role("button", name="Send the sheet").click()
    expect(page.locator("section")).to_contain_text("taken", timeout=120_000)


def test_the_trainer_sees_whom_to_look_at_again(opened: Opened) -> None:
    page = opened("trainer", "/villages", width=360)
    page.get_by_role("link", name="Lower Tarrin").click()
    sound(page)
    first = page.locator("tbody tr").first
    expect(first).to_contain_text("Asha Doreme")
    expect(first).to_contain_text("2026-06-01")
    expect(first).to_contain_text("mulch before the rains")
