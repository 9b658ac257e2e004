"""How long members' documents take: one by one, on one process and on two, and once again.

Everything is drawn by what `weighbook issue` draws with, from a season file; only the gate, the
group report and the files to print are left out.
"""

import os
import tempfile
from collections.abc import Callable, Generator, Iterator
from concurrent.futures import ProcessPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date
from multiprocessing import get_context
from pathlib import Path
from statistics import mean, median

import duckdb
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from pipeline.bench.season import AT, SEASON, take_season, write_season
from pipeline.bench.spent import Spent, in_new_process, spent
from pipeline.book.book import kept_settings, open_book
from pipeline.book.keys import book_keys
from pipeline.coop import coop_facts
from pipeline.issue import explain_with, made_up_to
from pipeline.season.generations import must_have
from pipeline.season.tables import connect, rows
from pipeline.take import take
from reports import render
from reports.drawing import write
from reports.facts import CoopFacts, Explain, Row
from reports.issue import Wanted, issue_documents
from reports.statement import dated, statement_models
from reports.statement_paper import statement_pdf

MEMBERS, DELIVERIES, CHANGED = 2000, 35, 10
# So many statements are drawn on one process and on two.
DRAWN = 400
MANY = 100_000
# Statements that are measured one by one, and how many come first, so that fonts are read.
SAMPLE, FIRST = 60, 5


@dataclass(frozen=True, slots=True, kw_only=True)
class _Book:
    """A season open for reading, and what its documents are made with."""

    con: duckdb.DuckDBPyConnection
    facts: CoopFacts
    explain: Explain
    key: bytes
    made_up_to: date

    def dated(self, models: Iterator[Row]) -> Iterator[Row]:
        """Yield each model with number, date and code."""
        sign = Ed25519PrivateKey.from_private_bytes(self.key).sign
        for model in models:
            yield dated(model, self.facts, day=self.made_up_to, version=1, sign=sign)

    def models(self, members: list[str]) -> Iterator[Row]:
        """Yield the view models of some members."""
        return statement_models(self.con, self.facts, explain=self.explain, members=members)


@contextmanager
def _opened(path: Path, threads: int = 0) -> Generator[_Book]:
    book = open_book(path)
    journal = book.journal()
    settings = kept_settings(journal)
    with connect(str(must_have(book, SEASON)), threads=threads) as con:
        yield _Book(
            con=con,
            facts=coop_facts(settings, SEASON),
            explain=explain_with(settings.decimals),
            key=book_keys(book).raw,
            made_up_to=made_up_to(journal, SEASON),
        )


def _members(path: Path) -> list[str]:
    with _opened(path) as book:
        text = "select member_no from member_season where registered order by 1"
        return [no for (no,) in rows(book.con, text)]


def _near(path: Path, deliveries: int) -> list[str]:
    """The members whose statements have nearly so many lines."""
    with _opened(path) as book:
        found = rows(
            book.con,
            "select member_no, count(*) from valued join rows_weighings using (sheet_no, row_no) "
            "group by member_no",
        )
    by_distance = sorted(found, key=lambda row: (abs(row[1] - deliveries), row[0]))
    return [no for no, _ in by_distance[:SAMPLE]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Single:
    """Statements drawn one after the other in one process, per statement.

    `cpu_ms`: from the rows to the packed PDF; `all_cpu_ms`: with page, message and words to read.
    """

    cpu_ms: float
    all_cpu_ms: float
    kb: float
    page_kb: float
    lines: float


def one_by_one(path: Path, deliveries: int) -> Single:
    """Draw the statements of members with nearly so many deliveries."""
    members = _near(path, deliveries)
    with _opened(path) as book:
        pdfs: list[bytes] = []
        pages: list[bytes] = []
        for model in book.dated(book.models(members[:FIRST])):
            _pdf(book, model)
        models: list[Row] = []
        reading = spent(lambda: models.extend(book.dated(book.models(members))))
        printing = spent(lambda: pdfs.extend(_pdf(book, model) for model in models))
        paging = spent(lambda: pages.extend(render.page("statement", model) for model in models))
    cpu_s = reading.cpu_s + printing.cpu_s
    return Single(
        cpu_ms=cpu_s / len(models) * 1000,
        all_cpu_ms=(cpu_s + paging.cpu_s) / len(models) * 1000,
        kb=median(len(pdf) for pdf in pdfs) / 1000,
        page_kb=median(len(page) for page in pages) / 1000,
        lines=mean(len(model["lines_before"] + model["lines"]) for model in models),
    )


def _pdf(book: _Book, model: Row) -> bytes:
    return statement_pdf(model, day=book.made_up_to, subject=model["member"]["no"])


def issue_all(path: Path, out: Path, processes: int, previous: Path | None = None) -> int:
    """Draw the first members' documents into a folder; return how many were drawn anew."""
    members = _members(path)[:DRAWN]
    with _opened(path) as book:
        made = issue_documents(
            book.con, book.facts, out, day=book.made_up_to, explain=book.explain, gate=[],
            wanted=Wanted(members=members, whole=False, prints=False), previous=previous,
            key=book.key, processes=processes,
        )  # fmt: skip
    return made.rendered


def issue_s(path: Path, out: Path, processes: int) -> float:
    """Return the seconds that all documents take on so many processes, their start included."""
    return spent(lambda: issue_all(path, out, processes)).wall_s


def pay_ten(path: Path, folder: Path) -> None:
    """Take a sheet on which ten members are paid once more."""
    with _opened(path) as book:
        day = book.made_up_to
    lines = [
        f"LATE-{n},{day},{member},1.00,cash,Lio Tessan\n"
        for n, member in enumerate(_members(path)[:CHANGED])
    ]
    head = "Payment,Date,Member,Amount,Method,Cashier\n"
    sheet = folder / "payments_late.csv"
    sheet.write_text(head + "".join(lines), "utf-8", newline="\n")
    take(open_book(path), [sheet], by="bench", day=day, at=AT)


def write_pages(path: Path, out: Path, members: list[str]) -> Spent:
    """Write the phone pages of some members; return what that took, the start left out."""
    with _opened(path, threads=1) as book:

        def work() -> None:
            for model in book.dated(book.models(members)):
                write(out, f"{model['member']['no']}.html", render.page("statement", model))

        return spent(work)


def all_pages(path: Path, out: Path, processes: int) -> Spent:
    """Return what all phone pages take, each process with its share of the members."""
    members = _members(path)
    share = -(-len(members) // processes)
    parts = [members[n : n + share] for n in range(0, len(members), share)]
    context = get_context("spawn")
    with ProcessPoolExecutor(max_workers=processes, mp_context=context) as pool:
        took = [pool.submit(write_pages, path, out, part) for part in parts]
        each = [one.result() for one in took]
    return Spent(wall_s=max(one.wall_s for one in each), cpu_s=sum(one.cpu_s for one in each))


def measure_documents(
    members: int = MEMBERS, deliveries: int = DELIVERIES, *, told: Callable[[str], None]
) -> dict[str, object]:
    """Measure on a drawn season of so many members with about so many deliveries each.

    `cpu_ms_per_statement`: of the processor, from the rows to the packed PDF; `median_kb`: of these
    PDFs; `two_core_gain`: seconds of all documents on one process over those on two;
    `unchanged_rendered`: drawn anew after ten members were paid; `hours_100k` and `pages_100k_s`:
    on two processes, by the clock. Measure on a machine that does nothing else: a busy one makes
    not only the clock's figures but those of the processor worse.
    """
    with tempfile.TemporaryDirectory(prefix="weighbook-bench-") as name:
        scratch = Path(name)
        book = scratch / "book"
        told(f"drawing a season of {members:,} members, {deliveries} deliveries each")
        # A receipt now and then has a second line, and what a farm bears sets a bound.
        in_new_process(write_season, scratch / "drawn", members, round(members * deliveries * 1.25))
        in_new_process(take_season, scratch / "drawn", book)
        told("statements one by one")
        single = in_new_process(one_by_one, book, deliveries)
        told(f"documents of {min(members, DRAWN)} members on one process")
        one_s = in_new_process(issue_s, book, scratch / "one", 1)
        told("the same on two processes")
        two_s = in_new_process(issue_s, book, scratch / "two", 2)
        told("phone pages")
        pages = all_pages(book, scratch / "pages", 2)
        told("ten members changed")
        in_new_process(pay_ten, book, scratch)
        again = in_new_process(issue_all, book, scratch / "again", 2, scratch / "two")
    drawn = min(members, DRAWN)
    return {
        "cpu_ms_per_statement": round(single.cpu_ms, 1),
        "median_kb": round(single.kb, 1),
        "two_core_gain": round(one_s / two_s, 2),
        "unchanged_rendered": again,
        "hours_100k": round(two_s / drawn * MANY / 3600, 2),
        "pages_100k_s": round(pages.wall_s / members * MANY),
        "cpu_ms_per_page": round(pages.cpu_s / members * 1000, 2),
        "all_cpu_ms_per_statement": round(single.all_cpu_ms, 1),
        "page_median_kb": round(single.page_kb, 1),
        "deliveries": round(single.lines, 1),
        "members": members,
        "drawn": drawn,
        "one_process_s": round(one_s, 1),
        "two_processes_s": round(two_s, 1),
        "cores": os.cpu_count() or 1,
    }
