"""The view model: figures as strings, sums that agree, names and silence where they are due."""

import datetime as dt
from dataclasses import replace
from decimal import Decimal

import pytest

from reports.facts import ReportError
from reports.statement import content_hash, dated, statement_models

DAY = dt.date(2026, 10, 12)


def minor(text: str) -> int:
    return int(Decimal(text.replace(",", "").replace("−", "-")) * 100)


def strings(value):
    if isinstance(value, dict):
        for inner in value.values():
            yield from strings(inner)
    elif isinstance(value, list):
        for inner in value:
            yield from strings(inner)
    else:
        yield value


def test_every_member_has_one_model_in_order_of_village_and_number(models, hard_names):
    villages = [(m["member"]["village"], no) for no, m in models.items()]
    assert villages == sorted(villages)
    assert {no: models[no]["member"]["name"] for no in hard_names} == hard_names


def test_nothing_printed_is_a_number(models):
    for model in models.values():
        drawn = model | {"yields": [y | {"strip": None} for y in model["yields"]]}
        assert all(value is None or isinstance(value, str) for value in strings(drawn))


def test_money_lines_add_up_to_the_balance(models):
    for model in models.values():
        *lines, balance = [minor(line["amount"]) for line in model["money"]]
        assert sum(lines) == balance


def test_a_loan_and_shares_stand_apart_and_in_no_sum(models):
    loan, shares = models["1003"]["apart"]["rows"]
    assert (loan["label"], loan["now"]) == ("Loan that you owe", "180.25")
    assert [shares[k] for k in ("label", "start", "more", "less", "now")] == [
        "Your paid-up shares", "25.00", "0.00", "0.00", "25.00",
    ]  # fmt: skip
    assert loan["code"] == "2026/1003/loan"
    assert models["1001"]["notes"] == ["30 Mar 2026, closing list #read(2025), 40.75"]
    assert models["1002"]["apart"] == {"rows": [], "say": ""}


def test_delivery_lines_add_up_to_value_and_deductions(models):
    for model in models.values():
        lines = model["lines"]
        assert sum(minor(x["value"]) for x in lines) == minor(model["money"][0]["amount"])
        taken = [minor(m["amount"]) for m in model["money"] if "/deducted/" in m["code"]]
        assert sum(minor(x["deducted"]) for x in lines) == -sum(taken)


def test_the_figures_of_one_member_worked_by_hand(maker, facts, say_flag):
    maker.member("7", "Asha Doreme", "Lower Tarrin")
    maker.weighing("7", dt.date(2026, 5, 4), "fresh_cherry", "60.0")
    maker.weighing("7", dt.date(2026, 5, 6), "parchment", "10.5", moisture="12.6")
    maker.pay("7", dt.date(2026, 5, 8), 3550)
    maker.trees("7", 100)
    maker.finish()
    (model,) = statement_models(maker.con, facts, explain=say_flag)
    # 60.0 x 0.62 = 37.20; 10.5 x 3.05 = 32.025, so 32.03; levy 1.12 + 0.96; transport 60 x 0.02.
    assert [m["amount"] for m in model["money"]] == ["69.23", "−2.08", "−1.20", "−35.50", "30.45"]
    # 60.0 x 0.1667 + 10.5 x 0.8 = 10.002 + 8.400 kg of green, over 100 trees 0.184 kg.
    assert model["figures"][0]["value"] == "18.402\u00a0kg"
    assert model["yields"][0]["value"] == "0.184\u00a0kg"
    assert model["yields"][0]["strip"] is None
    assert "Moisture was above 12.5 % in 1 of your 1 readings." in model["advice"][0]
    assert [line["code"] for line in model["money"]] == [
        "2026/7/value", "2026/7/deducted/levy", "2026/7/deducted/transport", "2026/7/paid",
        "2026/7/balance",
    ]  # fmt: skip


def test_the_village_is_compared_only_from_five_members_on(models):
    assert models["2000"]["yields"][0]["strip"] is None
    assert "Fewer than five" in models["2000"]["yields"][0]["say"]
    assert models["1001"]["yields"][0]["strip"] is not None


def test_no_coffee_counted_is_no_yield_and_no_reason_to_prune(models):
    assert models["1007"]["yields"] == []
    assert not any("pruning" in sentence for sentence in models["1007"]["advice"])


def test_no_farm_record_is_said_and_is_never_a_zero(models):
    record = models["1004"]["record"]
    assert record["rows"] == []
    assert record["say"].startswith("Not recorded.")
    assert next(row["amount"] for row in models["1001"]["record"]["rows"]) == "62.50"


def test_spraying_brings_its_cautions_and_no_dose(models):
    caution = models["1002"]["advice"][0]
    for word in ("label", "protective gear", "pregnant or nursing", "extension worker"):
        assert word in caution
    assert not any(character.isdigit() for character in caution)


def test_waiting_coffee_is_listed_with_its_reason_and_not_counted(models):
    waits = models["1001"]["waiting"]["rows"]
    assert [row["kg"] for row in waits] == ["612.0", "58.0"]
    assert [row["why"] for row in waits] == [
        "Flag weight-far-from-usual on 612.",
        "Flag unreadable on 612.",
    ]
    assert "612.0" not in [line["kg"] for line in models["1001"]["lines"]]


def test_a_missing_column_is_the_reason_of_every_row_of_its_sheet(maker, facts, say_flag):
    maker.member("7", "Asha Doreme", "Lower Tarrin")
    maker.weighing("7", dt.date(2026, 5, 4), "fresh_cherry", "60.0", state="sent_back")
    maker.weighing("7", dt.date(2026, 5, 5), "fresh_cherry", "61.0", state="sent_back")
    maker.flag(1, "missing-column", "{}", severity="send_back")
    maker.finish()
    (model,) = statement_models(maker.con, facts, explain=say_flag)
    assert [row["why"] for row in model["waiting"]["rows"]] == ["Flag missing-column on 612."] * 2


def test_a_decision_is_shown_with_who_and_why(models):
    (decision,) = models["1001"]["decisions"]
    assert decision["day"] == "11 May 2026"
    assert "counted as written" in decision["say"]
    assert "Sefa Orrin: the receipt copy shows the same weight" in decision["say"]


def test_lines_name_their_sheet_and_row(models):
    assert models["1001"]["lines"][0]["at"] == "1:4"
    assert models["1001"]["sheets"] == "Stands on, sheet and row: 1 kessim-week-14.csv."


def test_a_loan_is_shown_from_start_to_now(maker, facts, say_flag):
    maker.member("7", "Asha Doreme", "Lower Tarrin")
    row = maker.weighing("7", dt.date(2026, 5, 4), "fresh_cherry", "60.0")
    maker.balance("7", dt.date(2026, 3, 30), "owed_by_member", 4000, None)
    maker.insert(
        "deductions", position=3, deduction="loan", name="Loan repaid", authority="statutes",
        takes="credit", keep_percent=0,
    )  # fmt: skip
    day = dt.date(2026, 5, 4)
    maker.movement(day, "credit", "loan", "credit:input", "7", 1500, "credit", 9, 2)
    taken = "update settlements set deducted_minor = deducted_minor || [1000] where row_no = ?"
    maker.con.execute(taken, [row])
    maker.finish()
    maker.con.execute("update member_season set loan_minor = 4500")
    (model,) = statement_models(maker.con, facts, explain=say_flag)
    (loan,) = model["apart"]["rows"]
    assert [loan[k] for k in ("start", "more", "less", "now")] == [
        "40.00", "15.00", "10.00", "45.00",
    ]  # fmt: skip
    maker.con.execute("update member_season set loan_minor = 4501")
    with pytest.raises(ReportError, match="loan_minor is 4501, but its lines add up to 4500"):
        list(statement_models(maker.con, facts, explain=say_flag))


def test_a_telephone_gets_the_latest_deliveries_and_is_told_of_the_others(maker, facts, say_flag):
    maker.member("7", "Asha Doreme", "Lower Tarrin")
    for n in range(63):
        maker.weighing("7", dt.date(2026, 5, 4) + dt.timedelta(n), "fresh_cherry", "10.0")
    maker.finish()
    (model,) = statement_models(maker.con, facts, explain=say_flag)
    assert (len(model["lines_before"]), len(model["lines"])) == (3, 60)
    assert model["earlier"] == (
        "3 earlier deliveries, USD\u00a018.60 together, stand in the printed statement; the latest "
        "60 follow."
    )


def test_a_ledger_that_does_not_add_up_stops_the_statement(maker, facts, say_flag):
    maker.member("7", "Asha Doreme", "Lower Tarrin")
    maker.weighing("7", dt.date(2026, 5, 4), "fresh_cherry", "60.0")
    maker.finish()
    maker.con.execute("update member_season set value_minor = value_minor + 1")
    with pytest.raises(ReportError, match=r"member 7: value_minor is 3721, .* add up to 3720"):
        list(statement_models(maker.con, facts, explain=say_flag))


def test_overpaid_is_said_and_not_shown_as_owed(maker, facts, say_flag):
    maker.member("7", "Asha Doreme", "Lower Tarrin")
    maker.pay("7", dt.date(2026, 5, 8), 500)
    maker.finish()
    (model,) = statement_models(maker.con, facts, explain=say_flag)
    assert model["figures"][2]["label"] == "You have been overpaid"
    assert model["figures"][2]["value"] == "USD\u00a05.00"
    assert model["money"][-1]["amount"] == "−5.00"


def test_the_content_hash_takes_no_notice_of_day_and_version(small_season, facts, say_flag):
    first, again = (
        next(statement_models(small_season, facts, explain=say_flag, members=["1001"]))
        for _ in range(2)
    )
    assert content_hash(first, made_with="x") == content_hash(again, made_with="x")
    issued = dated(first, facts, day=dt.date(2026, 10, 12), version=3)
    assert issued["issue"]["number"] == "2026-1001-3"
    assert "until 11 Nov 2026" in issued["issue"]["questions"]
    first["member"]["name"] += "x"
    assert content_hash(first, made_with="x") != content_hash(again, made_with="x")


def test_whom_to_ask_is_said_in_the_members_language_or_as_the_book_says_it_for_all(
    small_season, facts, say_flag
):
    for language, whom in (("sw", "ofisi ya Kessim"), ("fr", "the office at Kessim")):
        here = replace(facts, languages=(language,))
        (model,) = statement_models(small_season, here, explain=say_flag, members=["1001"])
        assert whom in dated(model, here, day=DAY, version=1)["issue"]["questions"]
