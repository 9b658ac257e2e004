"""Many sheets read at once: each comes out as it does when it is read alone."""

import gzip
from dataclasses import fields

from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.intake.containers import open_parts
from pipeline.intake.found import Cells, NotRead
from pipeline.intake.kept import Reader
from pipeline.intake.limits import DEFAULT
from pipeline.intake.read import Part, part_cells
from pipeline.intake.together import cells_together

PLAIN = ["Payment", "Date", "Member", "Amount", "Method"]
HEADINGS = st.sampled_from([PLAIN, PLAIN, PLAIN, [*PLAIN[:4], "Paid by"], ["Voucher", *PLAIN[1:]]])
# What a plain cell holds, and what makes a row one to be looked at.
CELLS = ["P-1", "2026-05-04", "12.5", "1.250", "cash", "Felé Tarlé", "x y", "10019"]
ODD = [
    "",
    " ",
    "Total",
    "Payment",
    '"P-2"',
    '"a,b"',
    '""',
    '"a ""b"""',
    '"P',
    "a,b",
    "=1+1",
    "\r",
    "\x07",
    "\ufeff",
    "x" * 40,
]
CELL = st.sampled_from([*CELLS * 6, *ODD])


@st.composite
def sheets(draw: st.DrawFn) -> bytes:
    """A sheet as its office wrote it: mostly plain, now and then in another form."""
    headings = draw(HEADINGS)
    plain = draw(st.sampled_from([True, True, False]))
    cell = st.sampled_from(CELLS) if plain else CELL
    rows = draw(st.lists(st.lists(cell, min_size=5, max_size=5), max_size=6))
    if not plain and rows and draw(st.booleans()):
        rows[draw(st.integers(0, len(rows) - 1))] = draw(st.lists(cell, max_size=7))
    comma = draw(st.sampled_from([",", ",", ",", ";", "\t"]))
    end = draw(st.sampled_from(["\n", "\n", "\r\n"]))
    titles = draw(st.sampled_from([[], [], [], ["Velunda Ridge"], [""]]))
    lines = [*titles, comma.join(headings), *(comma.join(row) for row in rows)]
    text = end.join(lines) + draw(st.sampled_from([end, end, "", end * 2]))
    content = text.encode(draw(st.sampled_from(["utf-8", "utf-8", "utf-8-sig", "utf-16"])))
    return gzip.compress(content, mtime=0) if draw(st.integers(0, 9)) == 0 else content


def alone(part: Part) -> Cells | None:
    try:
        return part_cells(part)
    except NotRead:
        return None


def same(one: Cells, other: Cells) -> bool:
    """Tell whether two readings are equal in all that they say."""
    rest = [field.name for field in fields(Cells) if field.name != "frame"]
    return one.frame.equals(other.frame) and all(
        getattr(one, name) == getattr(other, name) for name in rest
    )


@settings(max_examples=200, deadline=None)
@given(contents=st.lists(sheets(), min_size=2, max_size=8))
def test_sheets_read_together_are_as_when_read_alone(contents: list[bytes]) -> None:
    parts = {place: open_parts(content, DEFAULT)[0] for place, content in enumerate(contents)}
    for place, cells in cells_together(parts, DEFAULT).items():
        by_itself = alone(parts[place])
        assert by_itself is not None, contents[place]
        assert same(cells, by_itself), (contents[place], cells, by_itself)
        assert cells.frame.schema == by_itself.frame.schema


@settings(max_examples=100, deadline=None)
@given(contents=st.lists(sheets(), min_size=1, max_size=6))
def test_what_was_found_plain_is_read_the_same_without_a_look(contents: list[bytes]) -> None:
    parts = {place: open_parts(content, DEFAULT)[0] for place, content in enumerate(contents)}
    first = cells_together(parts, DEFAULT)
    reader = Reader(DEFAULT)
    for place, cells in first.items():
        reader.keep(str(place), "", cells, plain=True)
    # As where there was no room for the cells.
    reader._read.clear()  # pyright: ignore[reportPrivateUsage]
    named = [(str(place), parts[place].part) for place in first]
    again = dict(reader.cells(named, lambda name: contents[int(name)]))
    for place, cells in enumerate(first.values()):
        assert same(cells, again[place]), (contents[place], cells, again[place])


def test_plain_sheets_are_read_together_and_others_left_to_be_read_alone() -> None:
    """Without this, to leave out every sheet would pass for reading them."""
    head = ",".join(PLAIN)
    row = "P-1,2026-05-04,10019,12.5,cash\n"
    contents = [
        f"{head}\n{row}",
        f"{head}\n{row}{row}",
        f'{head}\n"P-1",2026-05-04,10019,12.5,cash\n',
        f"{head}\n{row}Total,,,12.5,\n",
        f"Velunda Ridge\n{head}\n{row}",
        f"{head}\n{row}P-2,2026-05-04,10019\n",
        f"{head}\n{row}{head}\n",
        f"{head}\n\n{row}",
        f'{head}\nP"1",2026-05-04,10019,12.5,cash\n',
    ]
    parts = {n: open_parts(text.encode(), DEFAULT)[0] for n, text in enumerate(contents)}
    assert set(cells_together(parts, DEFAULT)) == {0, 1, 2}
    # A sheet alone of its headings is read with fewer looks over it all the same.
    assert set(cells_together({0: parts[0]}, DEFAULT)) == {0}
