"""Declares people in book.toml: adds one, or changes roles, stations and who is near."""

from collections.abc import Sequence
from typing import Any

import tomlkit
from tomlkit.items import AoT

from pipeline.book.book import Book, note_settings, now, write_whole, writing
from pipeline.declared import Person
from pipeline.errors import SettingsError
from pipeline.settings import Settings, read_settings


def declare_person(
    book: Book,
    name: str,
    *,
    roles: Sequence[str] | None = None,
    stations: Sequence[str] | None = None,
    member_no: str | None = None,
    relatives: Sequence[str] | None = None,
    at: str = "",
    dry: bool = False,
) -> Person:
    """Add a person to book.toml, or change what is given of one who is there; None leaves it.

    The rest of the file, its comments too, stays as it was. SettingsError where a role or a station
    does not exist, or a new person has no role; then nothing is written. `dry`: nothing is written
    in any case.
    """
    at = at or now()
    given = {
        "roles": roles,
        "stations": stations,
        "member_no": member_no,
        "relatives": relatives,
    }
    with writing(book):
        document = tomlkit.parse(book.settings_path.read_text("utf-8"))
        people = document.setdefault("person", tomlkit.aot())
        if not isinstance(people, AoT):
            raise SettingsError("book.toml: write each person as an own [[person]] table.")
        wanted = " ".join(name.split())
        rows: list[Any] = list(people)
        row = next((one for one in rows if str(one["name"]).casefold() == wanted.casefold()), None)
        if row is None:
            if not wanted or not roles:
                raise SettingsError("A new person needs a name and a role.")
            row = tomlkit.table()
            row["name"] = wanted
            people.append(row)
        for key, value in given.items():
            if value is not None:
                row[key] = value if isinstance(value, str) else list(value)
        text = tomlkit.dumps(document)
        settings = read_settings(text)
        if not dry:
            write_whole(book.settings_path, text.encode(), alone=True)
            note_settings(book, book.journal(), at)
    person = settings.person(wanted)
    assert person is not None
    return person


def roles_of(settings: Settings, name: str) -> frozenset[str]:
    """Return what somebody may do; nothing where nobody of that name is declared."""
    person = settings.person(name)
    return frozenset(person.roles) if person else frozenset()
