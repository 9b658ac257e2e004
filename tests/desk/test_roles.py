"""Every address times every role; nobody learns of what is not theirs."""

import hashlib
import os
import re
from pathlib import Path

import pytest

from pipeline.desk.app import PAGES
from pipeline.desk.pages import NO_PAGE
from tests.desk.conftest import ARDOLO, PEOPLE, Desk, token
from tests.take.small import ASHA, BEMI, sheet

ROLES = ("", *PEOPLE, "member")
C, M, T, H, R, A, B = "clerk", "manager", "treasurer", "chair", "trainer", "auditor", "member"
STAFF = {C, M, T, H, R, A}
MONEY = {M, T, H, A}
# Who may ask for what; typed here by hand, so that a slip in the pages' own lists shows.
MAY: dict[tuple[str, str], set[str]] = {
    ("GET", "/"): {*ROLES},
    ("GET", "/sign-in"): {*ROLES},
    ("POST", "/sign-in"): {*ROLES},
    ("POST", "/sign-out"): {*ROLES},
    ("GET", "/first"): {*ROLES},
    ("POST", "/first"): {*ROLES},
    ("GET", "/password"): STAFF,
    ("POST", "/password"): STAFF,
    ("GET", "/log"): {M, A},
    ("GET", "/queue"): MONEY,
    ("GET", "/flag/{number}"): MONEY,
    ("POST", "/flag/{number}/decide"): {M},
    ("POST", "/flag/{number}/take-back"): {M},
    ("GET", "/alike"): {M},
    ("POST", "/alike"): {M},
    ("GET", "/decisions"): MONEY,
    ("GET", "/sheets"): {C, M, A},
    ("POST", "/sheets"): {C, M},
    ("GET", "/sent/{number}"): {C, M, A},
    ("GET", "/sheet/{number}"): {C, M, A},
    ("GET", "/sheet/{number}/correction"): {C, M, A},
    ("GET", "/sheet/{number}/changes"): {C, M, A},
    ("GET", "/type"): {C, M},
    ("GET", "/type/{kind}"): {C, M},
    ("POST", "/type/{kind}"): {C, M},
    ("GET", "/awaited"): {C, M, A},
    ("GET", "/season"): MONEY,
    ("GET", "/sign"): MONEY,
    ("GET", "/sign/{number}"): MONEY,
    ("POST", "/sign/{number}"): {M, T, H},
    ("GET", "/second"): MONEY,
    ("POST", "/second"): {M, T, H},
    ("GET", "/pay"): MONEY,
    ("POST", "/pay"): {M, T, H},
    ("GET", "/pay/{list}/{name}"): MONEY,
    ("GET", "/issue"): {M, H, A},
    ("POST", "/issue"): {M},
    ("POST", "/issue/approve"): {M, H},
    ("GET", "/issued/{name}"): MONEY,
    ("GET", "/codes"): {C, M},
    ("POST", "/codes"): {C, M},
    ("GET", "/questions"): {C, M, A},
    ("POST", "/questions/{number}"): {C, M},
    ("GET", "/my/code"): {*ROLES},
    ("POST", "/my/code"): {*ROLES},
    ("GET", "/m/{code}"): {*ROLES},
    ("GET", "/my"): {B},
    ("GET", "/my/print"): {B},
    ("GET", "/my/why/{figure:path}"): {B},
    ("GET", "/my/ask"): {B},
    ("POST", "/my/ask"): {B},
    ("GET", "/villages"): {R, M, A},
    ("GET", "/practice"): {R, M, A},
    ("GET", "/income"): MONEY,
    ("GET", "/next"): {R} | MONEY,
    ("GET", "/my/farm"): {B},
    ("GET", "/village/{name:path}"): {R, M, A},
}


def address(desk: Desk, path: str) -> str:
    """An address with real parts, so that what is refused is the person and not the address."""
    sight = desk.office.desk.sight()
    one = sight.generation()
    assert one is not None
    sheet = max(n for n, s in one.sheets.items() if s["name"] == "weighings_KES_2026-W18_b.csv")
    flag = str(sight.queue()["flag"][0])
    parts = {
        "/flag/{number}": flag,
        "/sheet/{number}": str(sheet),
        "/sent/{number}": "none",
        "/sign/{number}": "1",
        "/questions/{number}": "1",
    }
    for start, value in parts.items():
        if path.startswith(start):
            return path.replace("{number}", value)
    filled = path.replace("{list}", "PL-2026-1")
    filled = (
        filled.replace("{kind}", "weighings").replace("{code}", "AAAA").replace("{name}", "gate")
    )
    filled = filled.replace("{name:path}", "Lower Tarrin")
    filled = filled.replace("{figure:path}", f"2026/{ASHA}/balance")
    return filled + (
        "?rule=off-scale-interval&station=KES&day=2026-05-04" if filled == "/alike" else ""
    )


def test_the_table_names_every_address() -> None:
    listed = {
        (method, one.path) for one in PAGES for method in (one.methods or ()) if method != "HEAD"
    }
    assert listed == set(MAY)


@pytest.mark.parametrize("role", ROLES)
def test_every_address_for_a_role(desk: Desk, role: str) -> None:
    with desk.client(role) as client:
        for (method, path), allowed in MAY.items():
            if path == "/sign-out":
                continue
            answer = client.request(method, address(desk, path))
            told = f"{role or 'nobody'}: {method} {path} gave {answer.status_code}"
            assert answer.status_code < 500, told
            if role in allowed and method == "POST":
                # The form's own token is missing: that is what is refused.
                assert answer.status_code == 403 and "has expired" in answer.text, told
            elif role in allowed:
                own_words = path in (
                    "/first",
                    "/sheet/{number}/correction",
                    "/sent/{number}",
                    "/sign/{number}",
                    "/pay/{list}/{name}",
                    "/my/print",
                    "/issued/{name}",
                )
                assert answer.status_code in (200, 303) or own_words, told
                assert answer.headers.get("location") != "/sign-in" or path in ("/", "/first"), told
            elif role:
                assert answer.status_code == 404 and NO_PAGE in answer.text, told
            else:
                assert answer.headers["location"] == "/sign-in", told


def test_a_clerk_sees_the_sheets_of_the_own_station_alone(desk: Desk) -> None:
    one = desk.office.desk.sight().generation()
    assert one is not None
    ardolo = next(n for n, s in one.sheets.items() if s["station"] == "ARD")
    with desk.client("clerk") as clerk, desk.client("auditor") as auditor:
        assert "weighings_ARD" not in clerk.get("/sheets").text
        assert "weighings_KES" in clerk.get("/sheets").text
        assert "weighings_ARD" in auditor.get("/sheets").text
        for path in (f"/sheet/{ardolo}", f"/sheet/{ardolo}/changes", "/sheet/99999", "/sheet/x"):
            answer = clerk.get(path)
            assert (answer.status_code, NO_PAGE in answer.text) == (404, True), path
        assert "Ardolo" not in clerk.get("/awaited").text


def test_a_clerk_sends_no_sheet_of_another_station(desk: Desk, tmp_path: Path) -> None:
    strange = [ARDOLO | {"day": "2026-06-16", "receipt_no": "91"}]
    path = sheet(tmp_path, "weighings_ARD_2026-W25.csv", "weighings", strange)
    before = len(desk.book.journal().lines)
    with desk.client("clerk") as clerk:
        form = {"token": token(clerk.get("/sheets").text)}
        answer = clerk.post("/sheets", data=form, files={"sheet": (path.name, path.read_bytes())})
        job = desk.wait(answer.headers["location"].rpartition("/")[2])
        assert job["results"][0]["status"] == "refused", job  # type: ignore[index]
        assert "speaks for station ARD" in clerk.get(answer.headers["location"]).text
    assert len(desk.book.journal().lines) == before
    assert hashlib.sha256(path.read_bytes()).hexdigest() not in os.listdir(
        desk.book.path / "sheets"
    )


def test_nothing_tells_of_another_members_figures(desk: Desk) -> None:
    with desk.client("member") as member:
        assert member.get(f"/my/why/2026/{ASHA}/value").status_code == 200
        answers = [
            re.sub(r'value="[^"]*"', "", member.get(f"/my/why/{code}").text)
            for code in (
                f"2026/{BEMI}/value",
                "2026/99999/value",
                "2026/group/value",
                "x",
                "a/b/c/d",
            )
        ]
        assert len(set(answers)) == 1 and NO_PAGE in answers[0]


def test_trainers_pages_hold_no_money(desk: Desk) -> None:
    with desk.client("trainer") as trainer:
        pages = [trainer.get(path).text for path in ("/villages", "/village/Lower Tarrin")]
    assert "mulch before the rains" in pages[1] and "2026-06-01" in pages[1]
    assert not any("USD" in page for page in pages)
