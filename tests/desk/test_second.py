"""What takes two people at the desk: second payment, payment lists, raised amounts."""

import re
import shutil
from collections.abc import Iterator

import httpx
import pytest

from pipeline.book.book import Book
from pipeline.proposals import proposals
from tests.desk.conftest import Desk, served, token
from tests.take.small import ask

PLAN = """
[resolution]
no = "GM-1"
day = 2026-10-03
owed_from = 2026-10-04
[eligible]
member_on = 2026-10-03
least_kg = "0"
[[pool]]
code = "PARCHMENT"
form = "parchment"
proceeds = "1000.00"
last_season_stock = "0.00"
finance_interest = "10.00"
premiums_apart = "0.00"
unsold_kg = "0"
rate_per_kg = "0.2500"
[[pool.cost]]
name = "Haulage"
amount = "20.00"
"""


@pytest.fixture(scope="module")
def own(filled: Book, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Desk]:
    """A desk of its own: what is posted and paid here would change what others look at."""
    one = served(Book(shutil.copytree(filled.path, tmp_path_factory.mktemp("own") / "book")))
    yield one
    one.server.should_exit = True
    one.office.work.stop()


def sent(client: httpx.Client, page: str, to: str, **said: object) -> httpx.Response:
    """Send the form of a page."""
    return client.post(to, data={"token": token(client.get(page).text), **said})


def figures(page: str) -> str:
    found = re.search(r'name="figures" value="([^"]*)"', page)
    assert found, page[-1500:]
    return found[1]


def signed(client: httpx.Client, address: str, **changes: str) -> httpx.Response:
    said = {"figures": figures(client.get(address).text), "sure": "1", "action": "sign"}
    return sent(client, address, address, **said | changes)


def test_a_second_payment_is_previewed_signed_by_another_and_posted_once(own: Desk) -> None:
    with own.client("manager") as manager, own.client("treasurer") as treasurer:
        over = PLAN.replace('"1000.00"', '"1.00"')
        refused = sent(manager, "/second", "/second", text=over)
        assert refused.status_code == 422 and "Nothing is posted" in refused.text
        address = sent(manager, "/second", "/second", text=PLAN).headers["location"]
        page = manager.get(address).text
        # Every member's working, to be checked with a pocket calculator.
        assert "kg x 0.2500 = " in page and "less Haulage" in page
        # Whoever put it forward finds nothing to sign with, and cannot sign by a form of their own.
        assert 'value="sign"' not in page
        treasurers = figures(treasurer.get(address).text)
        alone = sent(manager, address, address, figures=treasurers, sure="1", action="sign")
        assert alone.status_code == 422 and "cannot be the second person" in alone.text
        assert ask(own.book, "select count(*) from rows_second_payments") == [(0,)]
        assert "Look again" in signed(treasurer, address, figures="3 shares, 9.00 USD").text
        assert sent(treasurer, address, address, figures=treasurers).status_code == 422
        assert signed(treasurer, address).headers["location"] == address
        assert "signed by Sefu Aldane" in manager.get(address).text
        paid = ask(own.book, "select count(*), sum(amount_minor) from second_payments")
        assert paid[0][0] > 0 and paid[0][1] > 0
        posted = ask(own.book, "select posted_by, second from posted")
        assert posted == [("Mira Tolm", "Sefu Aldane")]
        again = sent(treasurer, address, address, figures=treasurers, sure="1", action="sign")
        assert again.status_code in (409, 422)
        assert (
            "has its second payment already" in sent(manager, "/second", "/second", text=PLAN).text
        )


def test_a_payment_list_is_signed_made_and_withdrawn_by_two(own: Desk) -> None:
    with own.client("treasurer") as treasurer, own.client("chair") as chair:
        page = treasurer.get("/pay").text
        assert re.search(r"cash: [1-9]\d* payments", page)
        address = sent(treasurer, "/pay", "/pay", method="cash").headers["location"]
        assert signed(chair, address).headers["location"] == address
        page = treasurer.get("/pay").text
        name = next(n for n in re.findall(r'href="(/pay/[^"]+)"', page) if n.endswith(".csv"))
        assert "payments" in treasurer.get(name).text
        assert treasurer.get(name.replace(".csv", "../../book.toml")).status_code == 404
        assert "cash: 0 payments" in page
        gone = sent(chair, "/pay", "/pay", list="PL-2026-1", because="the till was empty")
        assert signed(treasurer, gone.headers["location"]).status_code == 303
        assert "Withdrawn: the till was empty" in chair.get("/pay").text


def test_an_amendment_that_raises_an_amount_waits_for_a_second_person(own: Desk) -> None:
    queue = own.office.desk.sight().queue()
    flag = next(
        row["flag"] for row in queue.iter_rows(named=True) if row["rule"] == "unreadable-cell"
    )
    with own.client("manager") as manager, own.client("chair") as chair:
        here = f"/flag/{flag}"
        said = {"action": "amend", "value": "61.2", "because": "the paper says so"}
        address = sent(manager, here, f"{here}/decide", **said).headers["location"]
        assert address.startswith("/sign/")
        assert flag in set(own.office.desk.look().queue()["flag"])
        assert "61.2" in chair.get(address).text
        no = sent(chair, address, address, action="decline", because="I see 51.2")
        assert no.status_code == 303
        assert flag in set(own.office.desk.look().queue()["flag"])
        address = sent(manager, here, f"{here}/decide", **said | {"value": "61.3"}).headers[
            "location"
        ]
        assert signed(chair, address).status_code == 303
        line = own.book.journal().lines[-2]
        assert (line.what, line.body["by"], line.body["second"]) == (
            "decided",
            "Mira Tolm",
            "Dana Oreel",
        )
        assert flag not in set(own.office.desk.look().queue()["flag"])
    states = [one.state for one in proposals(own.book.journal())]
    assert states.count("declined") == 1 and states.count("waiting") == 0


def test_without_a_role_that_may_post_nothing_is_signed(own: Desk) -> None:
    with own.client("auditor") as auditor, own.client("clerk") as clerk:
        assert auditor.get("/sign").status_code == 200
        assert clerk.get("/sign").status_code == 404
        assert auditor.post("/sign/1", data={"action": "sign"}).status_code == 404
