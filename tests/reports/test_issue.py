"""An issue: what is written, the manifest, and what is carried over from the issue before."""

import csv
import datetime as dt
import json
import os
from hashlib import sha256

import pikepdf
import pytest

from reports.drawing import draw
from reports.facts import ReportError
from reports.issue import Wanted, issue_documents
from reports.manifest import file_name, read_manifest

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
    made = issue(village, facts, say_flag, gate, tmp_path, progress=lambda *n: seen.append(n))
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
    assert {"statements/lower-tarrin/0.txt", "print/lower-tarrin.pdf", "messages.csv"} < set(found)
    assert seen[-1] == (3, 3)


def test_two_issues_of_the_same_season_are_the_same_bytes(village, facts, say_flag, gate, tmp_path):
    for name in ("one", "two"):
        issue(village, facts, say_flag, gate, tmp_path / name)
    one, two = ((tmp_path / name / "manifest.json").read_bytes() for name in ("one", "two"))
    assert one == two


def test_more_processes_make_the_same_bytes(
    group_season, facts, say_flag, gate, tmp_path, monkeypatch
):
    monkeypatch.setattr("reports.drawing.ALONE", 2)
    members = ["3001", "3002", "3003"]
    made = [
        issue_documents(
            group_season, facts, tmp_path / str(n), day=DAY, explain=str_of_rule, gate=gate,
            wanted=Wanted(members=members), processes=n, key=bytes(32),
        )
        for n in (1, 2)
    ]  # fmt: skip
    assert made[0].files == made[1].files
    # A page, a PDF and words to read aloud each, their villages to print, messages and checks.
    assert len(made[0].files) == 12


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


def test_an_interrupted_run_goes_on_where_it_stopped(
    village, facts, say_flag, gate, tmp_path, monkeypatch
):
    whole = issue(village, facts, say_flag, gate, tmp_path / "whole")
    drawn = []

    def stops(job):
        if len(drawn) == 2:
            raise KeyboardInterrupt
        drawn.append(job.entry.member_no)
        return draw(job)

    monkeypatch.setattr("reports.drawing.draw", stops)
    with pytest.raises(KeyboardInterrupt):
        issue(village, facts, say_flag, gate, tmp_path / "stopped")
    assert not (tmp_path / "stopped" / "manifest.json").exists()
    (tmp_path / "stopped" / "statements/lower-tarrin/1.pdf").write_bytes(b"half")
    again = []
    monkeypatch.setattr(
        "reports.drawing.draw", lambda job: again.append(job.entry.member_no) or draw(job)
    )
    made = issue(village, facts, say_flag, gate, tmp_path / "stopped")
    assert (drawn, again) == (["0", "1"], ["1", "2"])
    assert made.files == whole.files
    assert made.statements == whole.statements
    assert not (tmp_path / "stopped" / "drawn.jsonl").exists()


def test_a_village_prints_as_one_file_each_statement_on_its_own_sheet(
    village, facts, say_flag, gate, tmp_path
):
    first = issue(village, facts, say_flag, gate, tmp_path / "1", key=bytes(32))
    with pikepdf.open(tmp_path / "1" / "print/lower-tarrin.pdf") as whole:
        assert len(whole.pages) == 6
    second = issue(
        village, facts, say_flag, gate, tmp_path / "2", previous=tmp_path / "1", key=bytes(32)
    )
    assert (second.rendered, second.files) == (0, first.files)
    village.con.execute("update filled_members set name = 'Bemi Orrin' where member_no = '1'")
    third = issue(
        village, facts, say_flag, gate, tmp_path / "3", previous=tmp_path / "2", key=bytes(32),
        wanted=Wanted(changed=True),
    )  # fmt: skip
    assert third.rendered == 1
    with pikepdf.open(tmp_path / "3" / "print/lower-tarrin.pdf") as changed:
        assert len(changed.pages) == 2


def test_another_key_draws_every_statement_anew(village, facts, say_flag, gate, tmp_path):
    issue(village, facts, say_flag, gate, tmp_path / "1", key=bytes(32))
    later = issue(
        village, facts, say_flag, gate, tmp_path / "2", previous=tmp_path / "1", key=b"k" * 32
    )
    assert later.rendered == 3


def test_messages_say_the_same_as_the_statements_in_two_at_most(
    village, facts, say_flag, gate, tmp_path
):
    village.con.execute("update filled_members set phone = '+1555010' || member_no")
    issue(village, facts, say_flag, gate, tmp_path)
    with (tmp_path / "messages.csv").open(encoding="utf-8") as file:
        sent = list(csv.DictReader(file))
    assert [line["phone"] for line in sent] == ["+15550100", "+15550101", "+15550102"]
    assert all(line["messages"] in ("1", "2") for line in sent)
    assert "value USD 37.20" in sent[0]["text"] and "2026-0-1" in sent[0]["text"]


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
    village.con.execute("update filled_members set name = name || '日' where member_no <> '1'")
    with pytest.raises(ReportError) as told:
        issue(village, facts, say_flag, gate, tmp_path)
    assert [line.split(":")[0] for line in str(told.value).splitlines()] == [
        "member 0, Asha 0日",
        "member 2, Asha 2日",
    ]
    assert not (tmp_path / "manifest.json").exists()


def test_one_member_alone_can_be_issued(village, facts, say_flag, gate, tmp_path):
    wanted = Wanted(members=["1"], prints=False)
    made = issue(village, facts, say_flag, gate, tmp_path, wanted=wanted)
    assert set(made.files) == {
        "gate.html", "messages.csv", "statements/lower-tarrin/1.html",
        "statements/lower-tarrin/1.pdf", "statements/lower-tarrin/1.txt",
    }  # fmt: skip


def test_with_some_statements_withheld_the_group_report_can_still_be_made(
    village, facts, say_flag, gate, tmp_path
):
    made = issue(village, facts, say_flag, gate, tmp_path, wanted=Wanted(members=["1"], whole=True))
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
