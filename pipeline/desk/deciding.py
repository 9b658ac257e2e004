"""The manager's pages: the queue, one flag with its evidence, many alike, taking back."""

from datetime import date
from functools import partial
from itertools import islice

import polars as pl
from starlette.responses import Response
from starlette.routing import Route

from checks.rules import BY_CODE
from pipeline.awaited import ask_station
from pipeline.book.book import note_settings, now, writing
from pipeline.decide import fitting, record, record_take_back, refuse_nameless
from pipeline.desk import say
from pipeline.desk.desk import Sight
from pipeline.desk.evidence import decision_shown, shown
from pipeline.desk.pages import Asked, Refused, away, route
from pipeline.doubtful import decided_before
from pipeline.errors import DecisionError
from pipeline.explain.evidence import evidence
from pipeline.proposals import AMENDMENT, needs_second, propose
from pipeline.raises import ACCOUNT_RULES
from pipeline.season.flags import Flag
from pipeline.season.written import cells_written
from pipeline.upkeep import bring_up_to_date

PAGE = 25
ALIKE_PAGE = 200
LOOK = ("manager", "treasurer", "chair", "auditor")


def queue_page(asked: Asked) -> Response:
    """The open flags, the most money at stake first."""
    sight, found = asked.sight, asked.sight.queue()
    rule, station = asked.query("rule"), asked.query("station")
    whole = found
    if rule:
        found = found.filter(pl.col("rule") == rule)
    if station:
        found = found.filter(pl.col("station") == station)
    start = _start(asked.query("from"))
    lines = [
        say.flag_row(flag, sight.settings, asked=sight.asked(flag.flag))
        for flag in told(sight, found["flag"].slice(start, PAGE).to_list())
    ]
    rules = sorted(whole["rule"].unique()) if whole.height else []
    return asked.page(
        "queue",
        lines=lines,
        shown=_shown(start, len(lines), found.height),
        rules=[(code, BY_CODE[code].title) for code in rules],
        stations=[(one.code, one.name) for one in sight.settings.stations],
        rule=rule,
        station=station,
        earlier=_address(rule, station, start - PAGE) if start else "",
        later=_address(rule, station, start + PAGE) if start + PAGE < found.height else "",
        done=asked.query("done")[:12],
        waiting=sight.waiting(),
    )


def told(sight: Sight, numbers: list[str], language: str = "en") -> list[Flag]:
    """Return flags of any season by their full numbers, in that order."""
    found: dict[str, Flag] = {}
    for one in sight.generations.values():
        for flag in one.told([n for n in numbers if n not in found], language):
            found[flag.flag] = flag
    return [found[number] for number in numbers]


def _start(text: str) -> int:
    return int(text) if text.isdecimal() and len(text) < 8 else 0


def _shown(start: int, count: int, of: int) -> str:
    return f"{start + 1} to {start + count} of {of}" if count else "none"


def _address(rule: str, station: str, start: int) -> str:
    return f"/queue?rule={rule}&station={station}&from={max(0, start)}"


def flag_page(asked: Asked) -> Response:
    """One flag with all its evidence."""
    sight = asked.sight
    try:
        one, number = sight.find(asked.path("number"))
    except DecisionError as gone:
        raise Refused(404, str(gone), "/queue") from None
    reader = partial(asked.office.sheets.cells, settings=sight.settings)
    flag = one.told_as_written(number, partial(cells_written, reader))
    with one.cursor() as con:
        found = evidence(con, sight.settings, flag, asked.office.sheets, one.remembered)
    queue = sight.queue()
    alike = (
        queue.filter(
            (pl.col("rule") == flag.rule)
            & (pl.col("station").fill_null("") == flag.station)
            & pl.col("on_day").eq_missing(pl.lit(found.day, pl.Date))
        )
        if queue.height
        else queue
    )
    decided = sight.decision(flag.flag)
    open_now = flag.flag in sight.open
    return asked.page(
        "flag",
        flag=say.flag_row(flag, sight.settings),
        do=flag.do,
        near=flag.near,
        rule=flag.rule,
        sheet_no=flag.sheet_no,
        heading=flag.heading,
        value=flag.value,
        **shown(found),
        alike=alike.height,
        alike_address=f"/alike?rule={flag.rule}&station={flag.station}&day={say.day(found.day)}",
        decision=decision_shown(*decided) if decided and not open_now else None,
        before=decided_before(sight.journal, flag) if decided and open_now else "",
        open=open_now,
        question=sight.asked(flag.flag),
        of_account=flag.rule in ACCOUNT_RULES,
        may_count="count" in fitting(flag),
        may_amend="amend" in fitting(flag),
        next=_next(queue, flag.flag),
    )


def _next(queue: pl.DataFrame, flag: str) -> str:
    numbers = queue["flag"].to_list()
    at = numbers.index(flag) + 1 if flag in numbers else 0
    return numbers[at][:8] if at < len(numbers) else ""


def decide_form(asked: Asked) -> Response:
    """Decide one flag; the decision is safe when the answer comes, and worked in behind it."""
    number = asked.path("number")
    action, because = asked.text("action"), asked.text("because")
    if action == "ask":
        return _ask(asked, [number])
    value = asked.text("value")
    if action == "amend" and value:
        settings = asked.sight.settings
        if needs_second(asked.sight.book, settings, [number], value):
            return _put_forward(asked, number, value, because)
    changed, following = _decide(asked, [number], action, because, value)
    shown = changed[0] if changed else f"{number[:4]}-{number[4:8]}".upper()
    return away(f"/flag/{following}?done={shown}" if following else f"/queue?done={shown}")


def _put_forward(asked: Asked, number: str, value: str, because: str) -> Response:
    """Let a second person look at an amendment that raises an amount."""
    refuse_nameless(because, asked.who.name)
    body = {"flags": [number], "value": value, "because": because}
    made = propose(asked.sight.book, AMENDMENT, body, by=asked.who.name)
    asked.office.desk.look()
    asked.office.log.note(asked.who.name, "put an amendment forward", number[:8])
    return away(f"/sign/{made.no}")


def _decide(
    asked: Asked, numbers: list[str], action: str, because: str, value: str
) -> tuple[list[str], str]:
    book, at = asked.sight.book, now()
    following = _next(asked.sight.queue(), numbers[0]) if len(numbers) == 1 else ""
    with writing(book):
        journal, settings = note_settings(book, book.journal(), at)
        lacking = min((one.journal_n for one in asked.sight.generations.values()), default=0)
        # A decision is on the value that was seen. An amendment is carried to later versions when
        # they come in, so those that came have to be in.
        if action == "amend" and any(one.what == "taken" for one in journal.lines[lacking:]):
            bring_up_to_date(book, journal, settings)
        _, doubts, _ = record(
            book,
            journal,
            settings,
            numbers,
            action,
            because=because,
            by=asked.who.name,
            value=value if action == "amend" else None,
            at=at,
        )
    asked.office.desk.look()
    asked.office.work.apply()
    shown = [doubt.flag.short for doubt in doubts]
    asked.office.log.note(asked.who.name, f"decided: {action}", ", ".join(shown[:20]))
    return shown, following


def alike_page(asked: Asked) -> Response:
    """Open flags of one rule, station and day, to be decided together."""
    sight, rule = asked.sight, asked.query("rule")
    station, day = asked.query("station"), asked.query("day")
    if rule not in BY_CODE:
        raise Refused(404, "There is no such rule.", "/queue")
    found = sight.queue()
    on = _day(day)
    found = (
        found.filter(
            (pl.col("rule") == rule)
            & (pl.col("station").fill_null("") == station)
            & pl.col("on_day").eq_missing(pl.lit(on, pl.Date))
        )
        if found.height
        else found
    )
    flags = told(sight, found["flag"].head(ALIKE_PAGE).to_list())
    return asked.page(
        "alike",
        lines=[say.flag_row(flag, sight.settings) for flag in flags],
        title=BY_CODE[rule].title,
        station=station,
        day=day,
        many=len(flags),
        may_count=BY_CODE[rule].severity != "send_back",
    )


def _day(text: str) -> date | None:
    try:
        return date.fromisoformat(text) if text else None
    except ValueError:
        raise Refused(404, "That is no day. Write it as 2026-05-04.", "/queue") from None


def alike_form(asked: Asked) -> Response:
    """Decide many flags alike: all of them, or none."""
    numbers = [str(number) for number in asked.form.getlist("flag")]
    if asked.text("action") == "ask":
        return _ask(asked, numbers)
    changed, _ = _decide(asked, numbers, asked.text("action"), asked.text("because"), "")
    return away(f"/queue?done={len(changed)}")


def _ask(asked: Asked, numbers: list[str]) -> Response:
    due = _day(asked.text("due"))
    book, who = asked.sight.book, asked.who.name
    found = ask_station(book, numbers, asked.text("because"), by=who, due=due)
    asked.office.desk.look()
    asked.office.log.note(who, "asked the station", ", ".join(one.short for one in found[:20]))
    return away("/awaited")


def decisions_page(asked: Asked) -> Response:
    """The decisions that stand, the latest first, each to be taken back."""
    found = [decision_shown(*pair) for pair in islice(asked.sight.decisions(), 60)]
    return asked.page("decisions", lines=found, back=asked.query("back")[:12])


def take_back_form(asked: Asked) -> Response:
    """Take a decision back, with a reason."""
    book, at, number = asked.sight.book, now(), asked.path("number")
    with writing(book):
        journal, settings = note_settings(book, book.journal(), at)
        record_take_back(
            book, journal, settings, number, because=asked.text("because"), by=asked.who.name, at=at
        )
    asked.office.desk.look()
    asked.office.work.apply()
    asked.office.log.note(asked.who.name, "took a decision back", number[:8])
    return away(f"/decisions?back={number[:8]}")


ROUTES: list[Route] = [
    route("/queue", queue_page, LOOK),
    route("/flag/{number}", flag_page, LOOK),
    route("/flag/{number}/decide", decide_form, ("manager",), post=True),
    route("/flag/{number}/take-back", take_back_form, ("manager",), post=True),
    route("/alike", alike_page, ("manager",)),
    route("/alike", alike_form, ("manager",), post=True),
    route("/decisions", decisions_page, LOOK),
]
