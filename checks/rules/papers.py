"""Rules on the office's papers: receipt books, loans, bank lines, questions."""

from checks.rule import NOTE, Rule

RULES = (
    Rule(
        code="receipt-outside-book",
        on=("receipt_books",),
        severity=NOTE,
        col="void_nos",
        where="len(list_filter("
        "regexp_extract_all(concat_ws(' ', void_nos, spoiled_nos), '[0-9]+'), "
        "lambda no: coalesce(try_cast(no as bigint) not between first_no and last_no, true))) > 0 "
        "and first_no is not null and last_no is not null",
        facts=("void_nos", "spoiled_nos", "first_no", "last_no"),
        say="Void {void_nos}, spoiled {spoiled_nos}: a number is outside the book, {first_no} to "
        "{last_no}.",
        do="Compare with the book itself and correct the number.",
        sure=0.7,
    ),
    Rule(
        code="credit-not-signed",
        on=("credit",),
        severity=NOTE,
        col="signed",
        where="signed = 'no'",
        facts=("member_no",),
        say="Member {member_no} has not signed the issue note.",
        do="Go through the note with the member; what was not agreed to is not owed.",
        sure=0.5,
    ),
    Rule(
        code="bank-line-one-side",
        on=("bank_lines",),
        severity=NOTE,
        col="money_in",
        where="(coalesce(money_in_minor, 0) = 0) = (coalesce(money_out_minor, 0) = 0)",
        facts=("money_in_minor", "money_out_minor"),
        say="In {money_in_minor}, out {money_out_minor}: a line moves money one way.",
        do="Compare with the statement and correct the one or the other.",
        sure=0.6,
    ),
    Rule(
        code="answer-without-day",
        on=("questions",),
        severity=NOTE,
        col="answered_on",
        where="(answer is null) <> (answered_on is null)",
        facts=("answer", "answered_on"),
        say="Of answer and day answered one is missing: {answer}, {answered_on}.",
        do="Write down both, so that it can be seen what the member was told and when.",
        sure=0.2,
    ),
)
