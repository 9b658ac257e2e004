"""The interface for programs: tokens, sheets in, totals out, and no server error whatever comes."""

import httpx
import pytest
import schemathesis
from hypothesis import HealthCheck, Phase, given, settings

from pipeline.desk.programs import make_interface
from tests.desk.conftest import Desk
from tests.take.small import sheet


@pytest.fixture(scope="module")
def tokens(desk: Desk) -> dict[str, str]:
    return {may: desk.office.accounts.new_token(may, may, at="now") for may in ("send", "read")}


def called(desk: Desk, token: str) -> httpx.Client:
    held = {"authorization": f"Bearer {token}"} if token else {}
    return httpx.Client(base_url=f"{desk.url}/api", headers=held, timeout=60)


def test_a_station_sends_a_sheet_and_asks_what_became_of_it(desk, tokens, tmp_path) -> None:
    path = sheet(
        tmp_path,
        "weighings_KES_2026-W24.csv",
        "weighings",
        [{"day": "2026-06-08", "receipt_no": "9"}],
    )
    with called(desk, tokens["send"]) as station:
        sent = station.post("/sheets", params={"name": path.name}, content=path.read_bytes())
        assert sent.status_code == 202
        desk.wait(sent.json()["number"])
        told = station.get(f"/sheets/{sent.json()['number']}").json()
        assert (told["state"], told["sheets"][0]["counted"]) == ("done", 1)
        assert station.get("/totals/2026").status_code == 403
        for name, content, status in (
            ("../x.csv", b"a", 422),
            ("x\\y.csv", b"a", 422),
            ("x.csv", b"", 400),
            ("", b"a", 422),
        ):
            answer = station.post("/sheets", params={"name": name}, content=content)
            assert answer.status_code == status and answer.json()["detail"], name


def test_an_accountant_reads_totals_that_are_the_books_own(desk, tokens) -> None:
    one = desk.office.desk.look().generation()
    with called(desk, tokens["read"]) as accountant:
        told = accountant.get("/totals/2026").json()
        assert accountant.get("/totals/1999").status_code == 404
        assert accountant.post("/sheets", params={"name": "x"}, content=b"a").status_code == 403
    assert told["value_minor"] == one.totals.season["value_minor"] > 0
    assert told["green_bean_equivalent_kg"] == str(one.totals.season["gbe_kg"])
    for token in ("", "wrong"):
        with called(desk, token) as nobody:
            assert nobody.get("/totals/2026").status_code == 401


def test_no_input_brings_about_a_server_error(desk: Desk, tokens: dict[str, str]) -> None:
    schema = schemathesis.openapi.from_asgi("/openapi.json", make_interface(desk.office))

    for operation in schema.get_all_operations():

        @settings(
            max_examples=15,
            deadline=None,
            derandomize=True,
            database=None,
            phases=[Phase.generate],
            suppress_health_check=list(HealthCheck),
        )
        @given(case=operation.ok().as_strategy())
        def never_fails(case) -> None:
            held = {
                "authorization": f"Bearer {tokens['read' if 'totals' in case.path else 'send']}"
            }
            answer = case.call(headers=held)
            assert answer.status_code < 500

        never_fails()
