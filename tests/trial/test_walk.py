"""The walk itself at a small size; longer ones are `weighbook trial walk`."""

import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from pipeline.cli.main import cli
from pipeline.trial import walk as walking
from pipeline.verify import verify


@pytest.mark.long
def test_whatever_is_decided_the_book_adds_up_and_is_what_all_anew_gives(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    # However small the book is, work out again only whom a step touches.
    monkeypatch.setattr("pipeline.season.touched.ONE_IN", 0)
    found = walking.walk(tmp_path / "season", seed=5, people=60, steps=12, prove_every=4)
    assert found.broken == []
    assert (found.steps, found.proved, sum(found.did.values())) == (12, 3, 12)
    assert found.did["decide"] > found.refused


@pytest.mark.long
def test_a_walk_through_a_book_that_is_not_what_it_was_ends_and_says_so(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def damaged(book: object) -> dict[str, object]:
        proof = verify(book)  # pyright: ignore[reportArgumentType]
        proof["promises"]["journal"]["faults"] = ["changed by hand"]
        return proof

    monkeypatch.setattr(walking, "verify", damaged)
    ran = CliRunner().invoke(cli, ["trial", "walk", "--members", "60", "--steps", "1", "--json"])
    assert ran.exit_code == 5
    (found,) = json.loads(ran.output)
    assert found["broken"] == ["step 1: journal: changed by hand"]
