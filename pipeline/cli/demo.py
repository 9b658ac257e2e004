"""The demo: an invented season through the whole path, with a word on each step."""

import shutil
import sys
from datetime import date
from importlib import import_module
from pathlib import Path
from threading import Thread

import click

from pipeline.book.book import Book, new_book, now
from pipeline.cli.deciding import currency_text, show_flag
from pipeline.cli.demo_money import make_demo_list, post_demo_second
from pipeline.cli.issuing import show_gate, show_issued
from pipeline.cli.sheets import show_taken
from pipeline.corrections import write_corrections
from pipeline.errors import BookError
from pipeline.queue import season_flags
from pipeline.samples.place import sample_inputs
from pipeline.samples.sheets import by_week
from pipeline.take import take, take_by_day
from pipeline.taken import Taken

BY = "demo"
SHOWN_FLAGS = 12


def run_demo(path: Path) -> None:
    """Make the demo's book in `path` and print where the documents are and what to try next."""
    samples = sample_inputs()
    _clear(path)
    # Loading what checks before issue takes seconds: it may as well load beside the taking.
    Thread(target=import_module, args=("checks.gate",)).start()
    click.echo(f"Making a book in {path} from the invented cooperative in sample_inputs.")
    book = new_book(path, (samples / "book.toml").read_text("utf-8"), now())
    show_taken(_take_season(book, samples))
    click.echo("\nA bad week comes in:")
    bad_week = sorted((samples / "bad_week").iterdir())
    show_taken(take(book, bad_week, by=BY, day=date(2026, 10, 5)))
    corrections = write_corrections(book)
    _show_flags(book)
    post_demo_second(book, samples)
    click.echo("\nChecking, then drawing every statement and the group report ...")
    from pipeline.issue import issue

    with click.progressbar(length=240, label="Statements", file=sys.stderr) as bar:
        done = issue(book, "2026", by=BY, progress=lambda n, _: bar.update(n - bar.pos))
    show_gate(done)
    show_issued(done)
    payments = make_demo_list(book)
    _show_places(book, done.folder, corrections, payments)


def _clear(path: Path) -> None:
    """Take an earlier demo away; BookError where the folder holds anything else."""
    if not path.exists():
        return
    if not (path / "journal.jsonl").is_file() or not (path / "sheets").is_dir():
        raise BookError(f"{path} is there and is no demo book. Name another with --book.")
    journal = Book(path).journal()
    by = {line.body.get("by", BY) for line in journal.lines}
    if by - {BY} and "Velunda Ridge" not in str(journal.lines[0].body):
        raise BookError(f"{path} holds a book that is not the demo's. Name another with --book.")
    shutil.rmtree(path)


def _take_season(book: Book, samples: Path) -> list[Taken]:
    """Take the registers, then each week's folder on the Monday after it."""
    days = by_week(samples / "season")
    count = sum(len(sheets) for _, sheets in days)
    with click.progressbar(length=count, label="Taking the season", file=sys.stderr) as bar:
        return take_by_day(book, days, by=BY, progress=bar.update)


def _show_flags(book: Book) -> None:
    found = [flag for _, flag in season_flags(book) if not flag.decision]
    click.echo(f"\n{len(found)} flags are open; the costliest:\n")
    for flag in found[:SHOWN_FLAGS]:
        show_flag(flag, currency_text(book.path, flag))


def _show_places(book: Book, folder: Path, corrections: list[Path], payments: Path) -> None:
    statement = next(iter(sorted(folder.glob("statements/*/*.pdf"))))
    member = statement.stem
    flag = next(f for _, f in season_flags(book) if f.severity == "hold" and not f.decision)
    click.echo("\nLook at:")
    click.echo(f"  all documents       {folder / 'index.html'}")
    click.echo(f"  one statement       {statement}")
    click.echo(f"  on a phone          {statement.with_suffix('.html')}")
    click.echo(f"  the group report    {folder / 'group' / 'group_report.pdf'}")
    click.echo(f"  who is paid         {payments / 'payment_list.csv'} (pay sheet beside it)")
    click.echo(f"  checks before issue {folder / 'gate.html'}")
    click.echo(f"  to be corrected     {corrections[0].parent} ({len(corrections)} sheets)")
    click.echo("\nTry next:")
    here = Path(sys.argv[0]).name if shutil.which("weighbook") else ".venv/bin/weighbook"
    for words in (
        f"why {book.path} 2026/{member}/balance",
        f'decide {book.path} {flag.short} leave-out --because "entered by mistake"',
        f"issue {book.path} --season 2026",
        f"money bank {book.path} --season 2026",
        f"verify {book.path}",
    ):
        click.echo(f"  {here} {words}")
