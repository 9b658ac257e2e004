"""When a chore is due: once for each of its times, missed ones made up once."""

from datetime import datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.book.book import Book
from pipeline.errors import BookError, SettingsError
from pipeline.service import chores
from pipeline.service.chores import Outcome, begin, carry_out, due
from pipeline.service.config import last_time, next_time, read_service, service_settings
from pipeline.service.notes import read_note, write_note

NIGHTS = [f"2026-06-{day:02d}T04:00:00Z" for day in range(1, 12)]


@pytest.fixture
def utc(book: Book) -> Book:
    (book.path / "service.toml").write_text('[service]\ntimezone = "Etc/UTC"\n')
    return book


@pytest.fixture
def did(monkeypatch: pytest.MonkeyPatch) -> list[tuple[str, str]]:
    """Chores that only say that they were done."""
    done: list[tuple[str, str]] = []
    for name, chore in chores.CHORES.items():

        def do(_: Book, __: object, at: str, name: str = name) -> Outcome:
            done.append((name, at))
            return Outcome(says="done")

        monkeypatch.setitem(
            chores.CHORES,
            name,
            chores.Chore(name=name, about=chore.about, do=do, from_start=chore.from_start),
        )
    return done


def test_each_time_is_done_once_however_often_it_is_asked(
    utc: Book, did: list[tuple[str, str]]
) -> None:
    begin(utc, "2026-05-31T12:00:00Z")
    for night in NIGHTS:
        for _ in range(3):
            carry_out(utc, "nightly", night)
    assert did == [("nightly", night) for night in NIGHTS]


def test_nights_that_were_missed_are_made_up_once(utc: Book, did: list[tuple[str, str]]) -> None:
    begin(utc, "2026-05-31T12:00:00Z")
    carry_out(utc, "nightly", NIGHTS[0])
    for _ in range(4):
        carry_out(utc, "nightly", NIGHTS[9])
    assert did == [("nightly", NIGHTS[0]), ("nightly", NIGHTS[9])]


def test_what_lay_before_the_first_start_is_not_made_up(
    utc: Book, did: list[tuple[str, str]]
) -> None:
    begin(utc, "2026-06-03T12:00:00Z")
    begin(utc, "2026-06-09T12:00:00Z")
    assert carry_out(utc, "weekly", "2026-06-03T12:01:00Z") is None
    assert carry_out(utc, "weekly", "2026-06-08T06:00:00Z") is not None
    # But checks and a backup are wanted from the start.
    assert carry_out(utc, "nightly", "2026-06-03T12:01:00Z") is not None


def test_a_clock_that_was_years_ahead_keeps_nothing_from_being_done(
    utc: Book, did: list[tuple[str, str]]
) -> None:
    carry_out(utc, "nightly", "2036-01-01T04:00:00Z")
    carry_out(utc, "nightly", NIGHTS[0])
    assert len(did) == 2


def test_a_clock_set_back_an_hour_does_nothing_again(utc: Book, did: list[tuple[str, str]]) -> None:
    carry_out(utc, "nightly", "2026-06-05T01:31:00Z")
    carry_out(utc, "nightly", "2026-06-05T00:45:00Z")
    assert len(did) == 1


def test_what_failed_says_why_and_stays_due(utc: Book, monkeypatch: pytest.MonkeyPatch) -> None:
    def fails(*_: object) -> Outcome:
        raise BookError("Another command is writing.")

    chore = chores.Chore(name="nightly", about="", do=fails, from_start=True)
    monkeypatch.setitem(chores.CHORES, "nightly", chore)
    with pytest.raises(BookError):
        carry_out(utc, "nightly", NIGHTS[3])
    note = read_note(utc, "done/nightly")
    assert (note["ok"], note["says"]) == (False, "Another command is writing.")
    assert due(utc, service_settings(utc), "nightly", NIGHTS[3]) is not None


def test_a_note_cut_short_by_a_crash_is_made_anew(utc: Book, did: list[tuple[str, str]]) -> None:
    write_note(utc, "done/nightly", {"slot": "2026-06-05T01:30:00"})
    (utc.path / "service" / "done" / "nightly.json").write_text('{"slot": "2026-')
    assert carry_out(utc, "nightly", NIGHTS[5]) is not None


@given(
    at=st.datetimes(min_value=datetime(2024, 2, 1), max_value=datetime(2030, 1, 1)),
    name=st.sampled_from(["inbox", "nightly", "weekly", "monthly", "closing"]),
)
def test_the_last_time_lies_before_the_next_and_none_between(at: datetime, name: str) -> None:
    rule = read_service("").times[name]
    before, after = last_time(rule, at), next_time(rule, at)
    assert before <= at < after
    assert next_time(rule, before) == after
    assert last_time(rule, after - timedelta(seconds=1)) == before


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ('[service]\nnightly = "25:00"', "nightly = '25:00': write a time of day"),
        ('[service]\nweekly = "noon"', "weekly = 'noon': write a day and a time"),
        ('[service]\nmonthly = "31 06:00"', "monthly = '31 06:00': write a day of the month"),
        ('[service]\ntimezone = "Office"', "timezone = 'Office': write a name of the IANA list"),
        ("[service]\ndesk_port = 99999", "desk_port = 99999: a port lies between"),
        ("[service]\nbackups = 1", "backups = 1: there is no such setting"),
        ("[service]\nbackup = 'x'", "a list of texts is needed"),
        ("nightly = '01:00'", "write all settings below the line [service]"),
        ("[service", "service.toml cannot be read"),
    ],
)
def test_a_setting_that_cannot_be_is_refused_by_its_name(text: str, says: str) -> None:
    with pytest.raises(SettingsError) as error:
        read_service(text)
    assert "service.toml" in str(error.value) and says in str(error.value)
