"""Rules on form and reference: can the row be read, and does what it names exist?"""

from collections.abc import Callable

from checks.rule import HOLD, NOTE, SEND_BACK, Rule
from pipeline.intake.kinds import Kind, kinds


def _on(fits: Callable[[Kind], bool]) -> tuple[str, ...]:
    return tuple(kind.name for kind in kinds().values() if fits(kind))


EVERY = tuple(kinds())
DATED = _on(lambda kind: kind.has("day"))

RULES = (
    Rule(
        code="unreadable-cell",
        on=EVERY,
        severity=SEND_BACK,
        col="",
        query="unreadable_cells",
        where="reason not in ('missing', 'no-such-column')",
        facts=("reason",),
        say="The cell {what}.",
        do="{remedy}",
        sure=1,
    ),
    Rule(
        code="missing-cell",
        on=EVERY,
        severity=SEND_BACK,
        col="",
        query="unreadable_cells",
        where="reason = 'missing'",
        facts=("reason",),
        say="The cell is empty, and it is needed.",
        do="Fill it in.",
        sure=1,
    ),
    Rule(
        code="missing-column",
        on=EVERY,
        severity=SEND_BACK,
        col="",
        query="unreadable_cells",
        where="reason = 'no-such-column'",
        facts=("reason",),
        say='The sheet has no column "{title}", so none of its rows can be counted.',
        do="Add the column and send the whole sheet again.",
        sure=1,
    ),
    Rule(
        code="corrects-nothing",
        on=EVERY,
        severity=SEND_BACK,
        col="",
        query="corrects_nothing",
        where="true",
        say="This row of a correction sheet names no row that waits to be corrected.",
        do="Leave the columns that name sheet and row as they were; a row that was mended since "
        "needs no correction.",
        sure=1,
    ),
    Rule(
        code="outside-season",
        on=DATED,
        severity=SEND_BACK,
        col="day",
        where="day < first_day or day > last_day",
        facts=("day", "first_day", "last_day"),
        say="The date {day} is outside the season, {first_day} to {last_day}.",
        do="Look at the year and month on the paper and correct the date.",
        sure=1,
    ),
    Rule(
        code="in-the-future",
        on=DATED,
        severity=SEND_BACK,
        col="day",
        where="day > taken_day",
        facts=("day", "taken_day"),
        say="The date {day} is later than {taken_day}, the day the sheet came in.",
        do="Look at the date on the paper and correct it.",
        sure=1,
    ),
    Rule(
        code="unknown-station",
        on=_on(lambda kind: kind.has("station")),
        severity=SEND_BACK,
        col="station",
        where="station is not null and station_name is null",
        facts=("station",),
        say="No station has the code {station}.",
        do="Correct the code, or declare the station in book.toml.",
        sure=1,
    ),
    Rule(
        code="unknown-scale",
        on=("weighings",),
        severity=SEND_BACK,
        col="scale",
        where="scale is not null and scale_station is null",
        facts=("scale",),
        say="No scale has the code {scale}.",
        do="Correct the code, or declare the scale in book.toml.",
        sure=1,
    ),
    Rule(
        code="scale-of-another-station",
        on=("weighings",),
        severity=HOLD,
        col="scale",
        where="scale_station <> station and station_name is not null",
        facts=("scale", "scale_station", "station"),
        say="Scale {scale} is of station {scale_station}, and the row of station {station}.",
        do="Ask the station which scale was used, and correct the one or the other.",
        sure=0.8,
    ),
    Rule(
        code="unknown-member",
        on=_on(lambda kind: kind.has("member_no") and kind.name != "members"),
        severity=HOLD,
        col="member_no",
        where="member_no is not null and member_name is null",
        facts=("member_no",),
        say="No member has the number {member_no}.",
        do="Compare with the paper; correct the number, or send in the member's row first.",
        sure=0.95,
    ),
    Rule(
        code="member-number-check",
        on=("members",),
        severity=HOLD,
        col="member_no",
        query="member_numbers_off",
        where="true",
        facts=("member_no",),
        say="The last digit of member number {member_no} does not fit the digits before it.",
        do="Compare with the member's card; one digit is mistyped or two are swapped.",
        source="Damm, Total anti-symmetrische Quasigruppen (2004); package python-stdnum",
        sure=0.95,
    ),
    Rule(
        code="listed-twice",
        on=_on(lambda kind: bool(kind.key) and kind.later_sheet == "adds"),
        severity=SEND_BACK,
        col="",
        query="keys_twice",
        where="true",
        facts=("row_key", "first_sheet", "first_row"),
        say="{row_key} stands twice in one sheet; the first is {first_sheet}, row {first_row}.",
        do="Keep the right row and take the other out.",
        sure=1,
    ),
    Rule(
        code="receipt-line-twice",
        on=("weighings",),
        severity=SEND_BACK,
        col="receipt_no",
        query="keys_twice",
        where="true",
        facts=("row_key", "first_sheet", "first_row"),
        say="Receipt line {row_key} (station, book, number, line) counts already: "
        "{first_sheet}, row {first_row}.",
        do="If it is the same weighing, leave it out. If not, correct book, number or line.",
        sure=1,
    ),
    Rule(
        code="payment-twice",
        on=("payments",),
        severity=SEND_BACK,
        col="payment_no",
        query="keys_twice",
        where="true",
        facts=("row_key", "first_sheet", "first_row"),
        say="Payment {row_key} counts already: {first_sheet}, row {first_row}.",
        do="If it is the same payment, leave it out. If not, correct its number.",
        sure=1,
    ),
    Rule(
        code="key-used-twice",
        on=_on(
            lambda kind: (
                bool(kind.key)
                and kind.later_sheet == "replaces"
                and kind.name not in ("weighings", "payments")
            )
        ),
        severity=SEND_BACK,
        col="",
        query="keys_twice",
        where="true",
        facts=("row_key", "first_sheet", "first_row"),
        say="{row_key} counts already: {first_sheet}, row {first_row}.",
        do="If it is the same thing, leave it out. If not, correct what names it.",
        sure=1,
    ),
    Rule(
        code="gone-from-later-version",
        on=_on(lambda kind: kind.later_sheet == "replaces"),
        severity=NOTE,
        col="",
        query="gone_rows",
        where="true",
        facts=("by_sheet",),
        say="This row is not in {by_sheet}, the later version of its sheet. "
        "It counts until decided.",
        do="Ask whoever sent the later version; count it or leave it out.",
        sure=0.7,
    ),
)
