"""What a printed statement says is what the ledger says: figures beside their codes, lines."""

import datetime as dt
import re
import subprocess
from decimal import Decimal

import pytest
from babel import Locale
from babel.numbers import format_decimal

from pipeline.book.book import kept_settings, new_book
from pipeline.coop import coop_facts
from pipeline.issue import issue
from pipeline.samples.place import sample_inputs
from pipeline.samples.sheets import by_week
from pipeline.season.generations import must_have
from pipeline.season.tables import connect
from pipeline.take import take, take_by_day
from reports.statement_paper import statement_pdf
from reports.words import spoken

LOCALES = {"en": "en_001", "es": "es_419"}


def said(value, pattern, language):
    text = format_decimal(
        value, format=pattern, locale=Locale.parse(LOCALES.get(language, language))
    )
    return re.sub(r"\s", "", text.replace("-", "−"))


def read(pdf):
    """The text in the order of the page, without blanks of any kind."""
    made = subprocess.run(
        ["pdftotext", "-raw", "-enc", "UTF-8", "-", "-"], input=pdf, capture_output=True, check=True
    )
    return re.sub(r"[\s\u200b]+", "", made.stdout.decode())


def asked(con, query, member):
    return con.execute(query, [member]).fetchall()


def differences(con, facts, member, language, text):
    """What the ledger has and the page has not: codes and figures that were looked for."""

    def money(minor):
        return said(
            Decimal(minor).scaleb(-facts.decimals), "#,##0." + "0" * facts.decimals, language
        )

    def kg(value):
        return said(value, "#,##0.0##", language)

    (totals,) = asked(
        con,
        "select opening_minor, value_minor, paid_minor, balance_minor, loan_minor, shares_minor, "
        "gbe_kg from member_season where member_no = ?", member,
    )  # fmt: skip
    opening, value, paid, balance, loan, shares, gbe = totals
    wanted = [f"{said(gbe, '#,##0.000', language)}kg", f"{facts.currency}{money(abs(balance))}"]
    codes = {"value": value, "paid": -paid, "balance": balance}
    codes |= {"opening": opening} if opening else {}
    for code, minor in asked(
        con,
        "select case when starts_with(to_account, 'deduction:') then substr(to_account, 11) "
        "else substr(from_account, 11) end, sum(case when starts_with(to_account, 'deduction:') "
        "then -amount_minor else amount_minor end) from transfers where what = 'deduction' and "
        "member_no = ? group by 1", member,
    ):  # fmt: skip
        codes[f"deducted/{code}"] = minor
    wanted += [f"{facts.season}/{member}/{code}{money(minor)}" for code, minor in codes.items()]
    for species, form, count, net, green, worth in asked(
        con,
        "select species, form, deliveries, net_kg, gbe_kg, value_minor from member_coffee "
        "where member_no = ?", member,
    ):  # fmt: skip
        wanted.append(
            f"{facts.season}/{member}/delivered/{species}/{form}{said(count, '#,##0', language)}"
            f"{kg(net)}{said(green, '#,##0.000', language)}{money(worth)}"
        )
    for name, minor in (("loan", loan), ("shares", shares)):
        if minor:
            found = re.search(rf"{facts.season}/{member}/{name}([−0-9.,]+)", text)
            wanted += [money(minor)] if found and found[1].endswith(money(minor)) else [f"{name}!"]
    lines = asked(
        con,
        "select w.net_kg, w.moisture_pct, v.price_per_kg, v.value_minor, coalesce((select sum(case "
        "when starts_with(to_account, 'deduction:') then amount_minor else -amount_minor end) from "
        "transfers t where t.kind = 'weighings' and t.what = 'deduction' and t.sheet_no = "
        "w.sheet_no and t.row_no = w.row_no), 0) from weighings w join valued v using (sheet_no, "
        "row_no) where w.state = 'counted' and w.member_no = ?", member,
    )  # fmt: skip
    price = "#,##0." + "0" * facts.decimals + "#" * (4 - facts.decimals)
    for net, moisture, per_kg, worth, taken in lines:
        dry = "" if moisture is None else said(moisture, "#,##0.0#", language)
        wanted.append(f"{kg(net)}{dry}{said(per_kg, price, language)}{money(worth)}{money(taken)}")
    for number, minor in asked(
        con,
        "select payment_no, amount_minor from payments where state = 'counted' and member_no = ?",
        member,
    ):
        if not re.search(rf"{re.escape(number)}\D*{re.escape(money(minor))}", text):
            wanted.append(f"payment {number} {money(minor)}")
    return [one for one in wanted if one not in text]


def test_a_few_statements_read_back_as_the_ledger_has_them(small_season, facts, models):
    for no in ("1001", "1003", "1007", "1008", "2000"):
        pdf = statement_pdf(models[no], day=dt.date(2026, 10, 12), subject=no)
        assert differences(small_season, facts, no, "en", read(pdf)) == [], no


def test_a_figure_that_differs_by_a_coin_is_found(small_season, facts, models):
    pdf = statement_pdf(models["1001"], day=dt.date(2026, 10, 12), subject="1001")
    text = read(pdf)
    assert differences(
        small_season, facts, "1001", "en", text.replace("/balance199.76", "/balance199.77")
    )
    assert differences(small_season, facts, "1001", "en", text.replace("25.05", "25.06"))


@pytest.mark.long
def test_every_statement_of_the_sample_season_reads_back_as_the_ledger_has_it(tmp_path):
    samples, at = sample_inputs(), "2026-10-05T08:00:00Z"
    book = new_book(tmp_path / "book", (samples / "book.toml").read_text("utf-8"), at)
    take_by_day(book, by_week(samples / "season"), by="test", at=at)
    take(book, sorted((samples / "bad_week").iterdir()), by="test", day=dt.date(2026, 10, 5), at=at)
    made = issue(book, "2026", by="test", at=at)
    facts = coop_facts(kept_settings(book.journal()), "2026")
    wrong = {}
    with connect(str(must_have(book, "2026"))) as con:
        members = con.execute(
            "select member_no, language from members where state = 'counted'"
        ).fetchall()
        languages = dict(members)
        paths = sorted(made.folder.glob("statements/*/*.pdf"))
        assert len(paths) == made.statements > 200
        for path in paths:
            language = spoken(languages[path.stem], facts.languages)
            found = differences(con, facts, path.stem, language, read(path.read_bytes()))
            wrong |= {path.stem: found} if found else {}
    assert wrong == {}
