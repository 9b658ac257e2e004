"""An issue: what is written, the manifest, and what is carried over from the issue before."""

import datetime as dt
import json
import os
from hashlib import sha256

import pytest

from reports.facts import ReportError
from reports.issue import file_name, issue_documents
from reports.manifest import read_manifest

DAY = dt.date(2026, 10, 12)


@pytest.fixture
def village(maker):
    for n in range(3):
        maker.member(str(n), f"Asha {n}", "Lower Tarrin")
        maker.weighing(str(n), dt.date(2026, 5, 4), "fresh_cherry", "60.0")
    maker.finish()
    return maker


def issue(village, facts, say_flag, gate, out, **kept):
    given = {"day": DAY, "explain": say_flag, "gate": gate} | kept
    return issue_documents(village.con, facts, out, **given)


def test_every_file_is_in_the_manifest_with_its_hash(village, facts, say_flag, gate, tmp_path):
    seen = []
    made = issue(village, facts, say_flag, gate, tmp_path, progress=seen.append)
    found = {
        path.relative_to(tmp_path).as_posix(): sha256(path.read_bytes()).hexdigest()
        for path in tmp_path.rglob("*")
        if path.is_file() and path.name != "manifest.json"
    }
    kept = json.loads((tmp_path / "manifest.json").read_text())
    assert kept["files"] == found == dict(sorted(made.files.items()))
    assert list(kept["files"]) == sorted(kept["files"])
    assert {"gate.html", "index.html", "group/group_report.pdf"} < set(found)
    assert "statements/lower-tarrin/0.pdf" in found
    assert seen == [3]


def test_two_issues_of_the_same_season_are_the_same_bytes(village, facts, say_flag, gate, tmp_path):
    for name in ("one", "two"):
        issue(village, facts, say_flag, gate, tmp_path / name)
    one, two = ((tmp_path / name / "manifest.json").read_bytes() for name in ("one", "two"))
    assert one == two


def test_more_processes_make_the_same_bytes(
    group_season, facts, say_flag, gate, tmp_path, monkeypatch
):
    monkeypatch.setattr("reports.issue._ALONE", 2)
    members = ["3001", "3002", "3003"]
    made = [
        issue_documents(
            group_season, facts, tmp_path / str(n), day=DAY, explain=str_of_rule, gate=gate,
            members=members, processes=n,
        )
        for n in (1, 2)
    ]  # fmt: skip
    assert made[0].files == made[1].files
    assert len(made[0].files) == 7


def str_of_rule(flag, language):
    return str(flag["rule"])


def test_unchanged_statements_keep_number_and_date_and_changed_ones_get_the_next(
    village, facts, say_flag, gate, tmp_path
):
    first = issue(village, facts, say_flag, gate, tmp_path / "1")
    assert first.rendered == 3
    village.con.execute("delete from member_season; delete from member_coffee")
    village.con.execute("delete from member_yield")
    village.pay("1", dt.date(2026, 10, 13), 100)
    village.finish()
    later = {"day": dt.date(2026, 10, 14), "previous": tmp_path / "1"}
    second = issue(village, facts, say_flag, gate, tmp_path / "2", **later)
    assert second.rendered == 1
    numbers = {s.member_no: (s.number, s.day) for s in second.statements}
    assert numbers == {
        "0": ("2026-0-1", "2026-10-12"),
        "1": ("2026-1-2", "2026-10-14"),
        "2": ("2026-2-1", "2026-10-12"),
    }
    same = "statements/lower-tarrin/0.pdf"
    assert (tmp_path / "1" / same).read_bytes() == (tmp_path / "2" / same).read_bytes()
    assert read_manifest(tmp_path / "2").statements == second.statements


def test_a_damaged_file_of_the_issue_before_is_made_again(village, facts, say_flag, gate, tmp_path):
    first = issue(village, facts, say_flag, gate, tmp_path / "1")
    damaged = tmp_path / "1" / "statements/lower-tarrin/0.pdf"
    damaged.write_bytes(b"half a file")
    second = issue(village, facts, say_flag, gate, tmp_path / "2", previous=tmp_path / "1")
    assert second.rendered == 1
    assert second.files == first.files


def test_all_unprintable_names_are_told_at_once_and_nothing_is_issued(
    village, facts, say_flag, gate, tmp_path
):
    village.con.execute("update rows_members set name = name || '日' where member_no <> '1'")
    with pytest.raises(ReportError) as told:
        issue(village, facts, say_flag, gate, tmp_path)
    assert [line.split(":")[0] for line in str(told.value).splitlines()] == [
        "member 0, Asha 0日",
        "member 2, Asha 2日",
    ]
    assert not (tmp_path / "manifest.json").exists()


def test_one_member_alone_can_be_issued(village, facts, say_flag, gate, tmp_path):
    made = issue(village, facts, say_flag, gate, tmp_path, members=["1"])
    assert set(made.files) == {
        "gate.html", "statements/lower-tarrin/1.html", "statements/lower-tarrin/1.pdf",
    }  # fmt: skip


def test_with_some_statements_withheld_the_group_report_can_still_be_made(
    village, facts, say_flag, gate, tmp_path
):
    made = issue(village, facts, say_flag, gate, tmp_path, members=["1"], whole=True)
    assert {"group/group_report.pdf", "index.html"} < set(made.files)
    assert "statements/lower-tarrin/0.pdf" not in made.files


def test_the_gate_page_shows_failing_checks_first_and_escapes(
    village, facts, say_flag, gate, tmp_path
):
    issue(village, facts, say_flag, gate, tmp_path)
    page = (tmp_path / "gate.html").read_text()
    assert "1 of 2 checks fail." in page
    assert page.index("Share flagged &lt;b&gt;") < page.index("Weight in is weight out")


@pytest.mark.parametrize(
    "text", ["../../etc", "CON", "a/b", "Ŋala", "日本", "x" * 300, "", ".", "A_1", "ab", "AB"]
)
def test_file_names_stay_in_their_folder_and_apart(text):
    name = file_name(text)
    assert os.path.basename(name) == name and name not in ("", ".", "..")
    assert len(name) < 80
    assert name != file_name(text + "!")
    assert name.split(".")[0] not in ("con", "nul", "aux", "prn")
    assert text == text.swapcase() or name != file_name(text.swapcase())


def test_plain_villages_have_plain_folders():
    assert file_name("Lower Tarrin") == "lower-tarrin"
    assert file_name("10427") == "10427"
