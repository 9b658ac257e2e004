"""Accounts, sessions and headers: what is kept, what is refused, and what no page allows."""

import shutil
import stat
from pathlib import Path

import pytest
from click.testing import CliRunner

from pipeline.book.book import Book, kept_settings
from pipeline.cli.main import cli
from pipeline.desk.accounts import TRIES, Accounts
from pipeline.errors import AccountError
from tests.desk.conftest import PASSWORD, PEOPLE, Desk, served, token


def test_the_first_visit_makes_the_first_account_and_no_later_one(
    filled: Book, tmp_path: Path
) -> None:
    desk = served(Book(shutil.copytree(filled.path, tmp_path / "book")))
    desk.office.accounts._ask("delete from accounts")
    with desk.client() as client:
        assert client.get("/").headers["location"] == "/first"
        said = {"name": "Osk Vanner", "password": PASSWORD, "again": "another one here"}
        said["token"] = token(client.get("/first").text)
        assert "two passwords differ" in client.post("/first", data=said).text
        said["again"] = PASSWORD
        assert client.post("/first", data=said).headers["location"] == "/sign-in"
        assert client.get("/first").status_code == 404
        assert client.post("/sign-in", data=said).headers["location"] == "/"
        assert client.get("/").headers["location"] == "/queue"
    desk.server.should_exit = True
    kept = kept_settings(desk.book.journal()).person("osk vanner")
    assert kept is not None and kept.roles == ("manager",)


def test_secrets_are_in_one_file_for_its_owner_alone(desk: Desk) -> None:
    path = desk.office.accounts.path
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    assert b"$argon2id$" in path.read_bytes()
    journal = (desk.book.path / "journal.jsonl").read_bytes()
    log = desk.office.log.path.read_bytes() if desk.office.log.path.exists() else b""
    for secret in (b"argon2", PASSWORD.encode(), desk.office.accounts.key().encode()):
        assert secret not in journal + log


def test_a_cookie_is_read_by_no_script_and_sent_to_no_other_site(desk: Desk) -> None:
    with desk.client() as client:
        said = {"token": token(client.get("/sign-in").text), "name": PEOPLE["auditor"]}
        answer = client.post("/sign-in", data=said | {"password": PASSWORD})
    cookie = answer.headers["set-cookie"]
    assert "HttpOnly" in cookie and "SameSite=strict" in cookie
    with desk.client("auditor") as client:
        kept = client.cookies["weighbook"]
        client.cookies.set("weighbook", kept[:-2] + "xx", domain="127.0.0.1", path="/")
        client.cookies.jar.clear()
        client.cookies.set("weighbook", kept[:-2] + "xx")
        assert client.get("/season").headers["location"] == "/sign-in"


def test_behind_a_proxy_cookies_go_over_tls_alone(desk: Desk) -> None:
    from starlette.responses import Response

    from pipeline.desk.session import Sessions

    for secure in (True, False):
        answer = Response()
        Sessions(desk.office.accounts, secure=secure).start(answer, secure=False, name="x", turn=0)
        assert ("Secure" in answer.headers["set-cookie"]) == secure


def test_every_answer_forbids_what_is_not_ours(desk: Desk) -> None:
    with desk.client("manager") as client:
        for path in ("/queue", "/no-such-page", "/static/desk.css", "/api/totals/2026"):
            headers = client.get(path).headers
            policy = headers["content-security-policy"]
            assert "default-src 'none'" in policy and "unsafe" not in policy
            assert headers["x-content-type-options"] == "nosniff"
        page = client.get("/queue").text
    assert "<style" not in page and "style=" not in page and "onclick" not in page


def test_a_form_of_another_session_is_refused_with_a_way_back(desk: Desk) -> None:
    with desk.client("manager") as one, desk.client("manager") as other:
        strange = token(other.get("/type").text)
        answer = one.post("/type/weighings", data={"token": strange})
        assert answer.status_code == 403 and "This page has expired" in answer.text
        assert 'href="/' in answer.text


def test_a_locked_account_ends_at_once(desk: Desk) -> None:
    with desk.client("treasurer") as client:
        assert client.get("/season").status_code == 200
        desk.office.accounts.lock(PEOPLE["treasurer"], locked=True)
        assert client.get("/season").headers["location"] == "/sign-in"
        desk.office.accounts.lock(PEOPLE["treasurer"], locked=False)
        assert client.get("/season").headers["location"] == "/sign-in"


def test_tries_run_out_and_come_back(tmp_path: Path) -> None:
    (tmp_path / "book").mkdir()
    clock = [1000.0]
    accounts = Accounts(Book(tmp_path / "book"), clock=lambda: clock[0], quick=True)
    accounts.set_password("Osk Vanner", PASSWORD)
    for name in ("Osk Vanner", "osk vanner", "OSK VANNER", "Osk Vanner", "Osk Vanner")[:TRIES]:
        with pytest.raises(AccountError, match="do not go together"):
            accounts.sign_in(name, "not it at all", "here")
    with pytest.raises(AccountError, match="Too many tries"):
        accounts.sign_in("Osk Vanner", PASSWORD, "elsewhere")
    clock[0] += 16 * 60
    assert accounts.sign_in("Osk Vanner", PASSWORD, "here").name == "Osk Vanner"
    code = accounts.member_code("10427", by="x", at="now")
    assert accounts.member_of(code.lower().replace("-", " "), "here") == "10427"
    with pytest.raises(AccountError, match="No statement opens"):
        accounts.member_of("AAAA-BBBB-CCCC", "here")
    accounts.end_code("10427")
    with pytest.raises(AccountError):
        accounts.member_of(code, "here")


@pytest.mark.parametrize("password", ["short", "x" * 201, "Osk Vanner"])
def test_weak_passwords_are_refused(tmp_path: Path, password: str) -> None:
    accounts = Accounts(Book(tmp_path), quick=True)
    with pytest.raises(AccountError):
        accounts.set_password("Osk Vanner", password)


def test_people_are_added_changed_and_locked_by_command(filled: Book, tmp_path: Path) -> None:
    book = Book(shutil.copytree(filled.path, tmp_path / "book"))
    comment = "# kept as it is\n" + book.settings_path.read_text("utf-8")
    book.settings_path.write_text(comment, "utf-8")

    def run(*words: str) -> str:
        done = CliRunner().invoke(cli, ["people", *words], env={"WEIGHBOOK_PASSWORD": PASSWORD})
        assert done.exit_code == 0, done.output
        return done.output

    path = str(book.path)
    assert "can sign in as clerk" in run("add", path, "Osk Vanner", "--role", "clerk")
    run("change", path, "osk vanner", "--role", "trainer", "--station", "ARD")
    assert "locked" in run("lock", path, "Osk Vanner")
    assert "Osk Vanner: trainer; account locked" in run("list", path)
    text = book.settings_path.read_text("utf-8")
    assert text.startswith("# kept as it is\n")
    made = run("token", path, "KES scale", "--may", "send").strip()
    assert Accounts(book).token(made) is not None
    for words, says in (
        (("add", path, "Osk Vanner", "--role", "clerk"), "has an account"),
        (("add", path, "Uma Roth", "--role", "king"), "a list of: clerk"),
        (("add", path, "Uma Roth", "--role", "clerk", "--password", "short"), "letters or more"),
        (("change", path, "Nobody", "--role", "clerk"), "Nobody called Nobody"),
        (("lock", path, "Nobody"), "There is no account of Nobody"),
    ):
        done = CliRunner().invoke(cli, ["people", *words], env={"WEIGHBOOK_PASSWORD": PASSWORD})
        assert done.exit_code != 0 and says in done.output, done.output
    # What is refused leaves neither an account nor a declaration behind.
    assert "uma roth" not in Accounts(book).names()
    assert "Uma Roth" not in book.settings_path.read_text("utf-8")
