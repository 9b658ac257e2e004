"""Pictures of every document, to be looked at: `make pictures`, into build/pictures.

One statement in each language, on paper and as a telephone of 360 points shows it; the group report
page by page; long and hostile names, no, 60 and 400 deliveries, a debt and a missing price.
"""

import argparse
import datetime as dt
import shutil
import subprocess
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import duckdb
from playwright.sync_api import Browser, sync_playwright

from pipeline.book.book import kept_settings, open_book
from pipeline.coop import coop_facts
from pipeline.intake.names import LANGUAGES
from pipeline.issue import explain_with, made_up_to
from pipeline.season.generations import must_have
from pipeline.season.tables import connect
from reports import render
from reports.facts import CoopFacts, Explain
from reports.group import group_model
from reports.statement import dated, statement_models
from reports.statement_paper import statement_pdf
from tests.reports.seasons import FACTS, FIRST, GATE, KEY, Maker, explain, make_small_season

SEASON = "2026"
# A cooperative's phone: 360 points wide; 2 pixels a point, so that small print can be judged.
WIDTH, HEIGHT, SCALE = 360, 740, 2
DPI = "80"


def main() -> None:
    parser = argparse.ArgumentParser(prog="make pictures", description=__doc__)
    parser.add_argument("book", type=Path)
    parser.add_argument("out", type=Path)
    given = parser.parse_args()
    shutil.rmtree(given.out, ignore_errors=True)
    given.out.mkdir(parents=True)
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(
            executable_path=shutil.which("chromium") or "chromium", args=["--no-sandbox"]
        )
        for name, model in [*in_each_language(given.book), *hard_cases()]:
            paper(given.out, name, "statement", model)
            phone(given.out, name, "statement", model, browser)
        for name, model in group_reports(given.book):
            paper(given.out, name, "group", model)
            phone(given.out, name, "group", model, browser)
        browser.close()
    print(f"{len(list(given.out.glob('*.png')))} pictures in {given.out}")


def _opened(path: Path) -> Iterator[tuple[duckdb.DuckDBPyConnection, CoopFacts, Explain, dt.date]]:
    book = open_book(path)
    journal = book.journal()
    settings = kept_settings(journal)
    with connect(str(must_have(book, SEASON))) as con:
        explained = explain_with(settings.decimals)
        yield con, coop_facts(settings, SEASON), explained, made_up_to(journal, SEASON)


def in_each_language(path: Path) -> Iterator[tuple[str, dict[str, Any]]]:
    """The statement that has most to say, in each language."""
    for con, facts, explained, day in _opened(path):
        ((member,),) = con.execute(
            "select s.member_no from member_season as s join member_margin using (member_no) "
            "order by (s.waiting_rows > 0)::int + (member_margin.held is null)::int "
            "+ (s.loan_minor > 0)::int + (s.other_minor <> 0)::int desc, s.record_rows desc, "
            "s.member_no limit 1"
        ).fetchall()
        for language in LANGUAGES:
            here = replace(facts, languages=(language,))
            (model,) = statement_models(con, here, explain=explained, members=[member])
            yield f"statement-{language}", dated(model, here, day=day, version=1, sign=KEY.sign)


def group_reports(path: Path) -> Iterator[tuple[str, dict[str, Any]]]:
    for con, facts, _, day in _opened(path):
        for language in ("en", "sw"):
            here = replace(facts, languages=(language,))
            yield f"group-{language}", group_model(con, here, day=day, gate=GATE)


def hard_cases() -> Iterator[tuple[str, dict[str, Any]]]:
    day = dt.date(2026, 10, 12)
    seasons = [make_small_season(), _four_hundred()]
    for con in seasons:
        for model in statement_models(con, FACTS, explain=explain):
            made = dated(model, FACTS, day=day, version=1, sign=KEY.sign)
            yield f"hard-{made['member']['no']}", made


def _four_hundred() -> duckdb.DuckDBPyConnection:
    """One member with 400 deliveries and a debt, one with a right-to-left name and no price."""
    make = Maker(connect(":memory:", read_only=False))
    make.member("4001", "Four Hundred", "Lower Tarrin")
    for n in range(400):
        form = "parchment" if n % 7 == 0 else "fresh_cherry"
        moisture = "12.1" if n % 7 == 0 else None
        make.weighing(
            "4001", FIRST + dt.timedelta(n % 180), form, f"{20 + n % 50}.4", moisture=moisture
        )
    make.pay("4001", dt.date(2026, 6, 5), 2_000_000)
    make.member("4002", "سليم \u202eKarro\u202c देव", "Lower Tarrin")
    make.weighing("4002", FIRST, "fresh_cherry", "61.0")
    row = make.weighing("4002", FIRST, "fresh_cherry", "58.0", state="held")
    make.flag(row, "no-price", "{}")
    make.finish()
    return make.con


def paper(out: Path, name: str, template: str, model: dict[str, Any]) -> None:
    day = dt.date(2026, 10, 12)
    if template == "statement":
        made = statement_pdf(model, day=day, subject=name)
    else:
        made = render.pdf(template, model, day=day, subject=name)
    path = out / f"{name}.pdf"
    path.write_bytes(made)
    subprocess.run(["pdftoppm", "-r", DPI, "-png", path, out / f"{name}-page"], check=True)


def phone(out: Path, name: str, template: str, model: dict[str, Any], browser: Browser) -> None:
    path = out / f"{name}.html"
    path.write_bytes(render.page(template, model))
    page = browser.new_page(
        viewport={"width": WIDTH, "height": HEIGHT}, device_scale_factor=SCALE,
        java_script_enabled=False,
    )  # fmt: skip
    page.goto(path.resolve().as_uri())
    page.screenshot(path=out / f"{name}-phone.png", full_page=True)
    page.close()


if __name__ == "__main__":
    main()
