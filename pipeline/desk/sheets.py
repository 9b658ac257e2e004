"""The clerk's pages: send sheets, see what became of each, its rows and changes."""

import json
from typing import Any
from urllib.parse import quote

from starlette.datastructures import UploadFile
from starlette.responses import Response
from starlette.routing import Route

from pipeline.changes import sheet_changes
from pipeline.desk import say
from pipeline.desk.deciding import told
from pipeline.desk.generation import Generation
from pipeline.desk.pages import NO_PAGE, Asked, Refused, away, route
from pipeline.desk.spoken import say as in_words
from pipeline.desk.work import DONE, FAILED, READ, WAITING, WORKING
from pipeline.explain.sheets import masks
from pipeline.intake.kinds import kinds
from pipeline.intake.told import note_said, problem_said
from pipeline.season.flags import Flag
from pipeline.season.schema import STATES
from pipeline.season.tables import rows as query_rows

PAGE, ROWS = 60, 40
LOOK, DO = ("clerk", "manager", "auditor"), ("clerk", "manager")
# What a job's states are called among the words of the page.
JOB_STATES = {
    WAITING: "state_waiting",
    WORKING: "state_working",
    READ: "state_read",
    DONE: "state_done",
    FAILED: "state_failed",
}


def sheets_page(asked: Asked) -> Response:
    """The sheets of one's stations, the latest first, and where to send more."""
    found: dict[int, dict[str, Any]] = {}
    for one in asked.sight.generations.values():
        for number, sheet in one.sheets.items():
            if asked.who.sees(sheet["station"]):
                found.setdefault(number, sheet)
    name = asked.query("name")
    listed = [found[number] for number in sorted(found, reverse=True)]
    if name:
        listed = [one for one in listed if name.casefold() in one["name"].casefold()]
    return asked.page(
        "sheets",
        lines=[_line(asked, one) for one in listed[:PAGE]],
        more=len(listed) > PAGE,
        count=len(listed),
        name=name,
        may_send=asked.who.is_any(*DO),
        failed=[
            job
            for job in asked.office.work.failed()
            if job.by == asked.who.name or asked.who.is_any("manager", "auditor")
        ],
    )


def _kind_title(asked: Asked, name: str | None) -> str:
    return kinds()[name].titles[asked.language] if name else asked.words["no_kind"]


def _line(asked: Asked, sheet: dict[str, Any]) -> dict[str, Any]:
    return {
        "no": sheet["sheet_no"],
        "name": sheet["name"],
        "kind": _kind_title(asked, sheet["kind"]),
        "day": say.day(sheet["taken_day"]),
        "version": sheet["version"],
        **{key: sheet[key] for key in ("arrived", *STATES)},
        "problem": problem_said(sheet["problem"], sheet["kind"], asked.language),
    }


def send_form(asked: Asked) -> Response:
    """Keep the sheets that were sent, and show what becomes of them."""
    files = [
        (one.filename or "", one.file.read())
        for one in asked.form.getlist("sheet")
        if isinstance(one, UploadFile) and (one.filename or one.size)
    ]
    job = asked.office.work.send(files, by=asked.who.name, stations=asked.who.own_stations)
    asked.office.log.note(asked.who.name, "sent sheets", ", ".join(job.names[:20]))
    return away(f"/sent/{job.id}")


def sent_page(asked: Asked) -> Response:
    """What became of the sheets that were sent together."""
    job = asked.office.work.job(asked.path("number"))
    if job is None or not (job.by == asked.who.name or asked.who.is_any("manager", "auditor")):
        raise Refused(404, NO_PAGE, "/sheets")
    numbers = {
        (sheet["name"]): number
        for one in asked.sight.generations.values()
        for number, sheet in one.sheets.items()
    }
    lines = [
        one
        | {
            "no": numbers.get(one["sheet"]),
            "kind_title": _kind_title(asked, one["kind"] or None),
            "notes": [note_said(note, asked.language) for note in one["notes"]],
        }
        for one in job.results
    ]
    reading = [
        one | {"kind_title": _kind_title(asked, one["kind"] or None)}
        for one in ([] if job.over or job.results else job.read)
    ]
    state = asked.words[JOB_STATES[job.state]]
    return asked.page("sent", job=job, state=state, lines=lines, reading=reading)


def sheet_page(asked: Asked) -> Response:
    """A sheet as it was written, its doubtful cells marked and the sentence beside them."""
    one, sheet = _sheet(asked)
    number, settings = sheet["sheet_no"], asked.sight.settings
    queue = one.queue.filter(one.queue["sheet_no"] == number)
    still = asked.sight.open
    numbers = [flag for flag in queue["flag"].to_list() if flag in still]
    flags = told(asked.sight, numbers, asked.language)
    words = asked.words
    with one.cursor() as con:
        states = dict(
            query_rows(
                con,
                "select row_no, cast(state as varchar) from exceptions where sheet_no = ?",
                [number],
            )
        )
    cells = asked.office.sheets.cells(sheet["sha256"], sheet["part"], settings)
    only = asked.query("rows") != "all"
    lines: list[dict[str, Any]] = []
    headings: list[str] = []
    start = int(asked.query("from")) if asked.query("from").isdecimal() else 0
    height = 0
    if cells is not None and sheet["kind"]:
        kind = kinds()[sheet["kind"]]
        shown, headings = masks(kind, cells), list(cells.headings)
        frame = cells.frame
        wanted = sorted({flag.row for flag in flags} | set(states))
        if only:
            frame = frame.filter(frame["row_no"].is_in(wanted))
        height = frame.height
        for row in frame.slice(start, ROWS).iter_rows(named=True):
            of_row = [flag for flag in flags if flag.row == row["row_no"]]
            lines.append(
                {
                    "no": row["row_no"],
                    "state": words[f"long_{states.get(row['row_no'], 'counted')}"],
                    "cells": [
                        {
                            "text": shown(place, row[f"c{place}"] or ""),
                            "marked": any(flag.heading == heading for flag in of_row),
                        }
                        for place, heading in enumerate(headings)
                    ],
                    "says": [(flag.short, _says(flag)) for flag in of_row],
                }
            )
    whole = [flag for flag in flags if flag.rule == "missing-column"]
    return asked.page(
        "sheet",
        sheet=_line(asked, sheet),
        kind=sheet["kind"],
        station=sheet["station"] or "",
        week=sheet["week"] or "",
        headings=headings,
        lines=lines,
        whole=[f"{flag.say} {flag.do}" for flag in whole],
        notes=[note_said(note, asked.language) for note in json.loads(sheet["notes"])],
        only=only,
        shown=in_words(words, "rows_shown", start + 1, start + len(lines), height),
        earlier=max(0, start - ROWS) if start else None,
        later=start + ROWS if start + ROWS < height else None,
        states=[(words[key], sheet[key]) for key in STATES],
        correction=_correction(asked, number) is not None,
        may_see_flags=asked.who.is_any("manager", "auditor"),
    )


def _says(flag: Flag) -> str:
    """Return what a flag says, behind the heading of its column."""
    return f"{flag.heading}: {flag.say} {flag.do}" if flag.heading else f"{flag.say} {flag.do}"


def _sheet(asked: Asked) -> tuple[Generation, dict[str, Any]]:
    number = asked.path("number")
    for one in asked.sight.generations.values():
        sheet = one.sheets.get(int(number)) if number.isdecimal() and len(number) < 9 else None
        if sheet is not None and asked.who.sees(sheet["station"]):
            return one, sheet
    raise Refused(404, NO_PAGE, "/sheets")


def _correction(asked: Asked, number: int) -> Any:
    folder = asked.sight.book.path / "corrections"
    return next(iter(sorted(folder.glob(f"{number:04d}_*.xlsx"))), None)


def correction_file(asked: Asked) -> Response:
    """The correction sheet of a sheet, to be filled in and sent back."""
    _, sheet = _sheet(asked)
    path = _correction(asked, sheet["sheet_no"])
    if path is None:
        raise Refused(404, asked.words["no_correction"], "/sheets")
    # Read at once: a take that writes it anew meanwhile would change its length under way.
    return Response(
        path.read_bytes(),
        media_type="application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
        headers={"content-disposition": f"attachment; filename*=UTF-8''{quote(path.name)}"},
    )


def changes_page(asked: Asked) -> Response:
    """What a later version of a sheet changed."""
    _, sheet = _sheet(asked)
    found = sheet_changes(asked.sight.book, sheet["name"])
    return asked.page("changes", sheet=_line(asked, sheet), versions=found)


ROUTES: list[Route] = [
    route("/sheets", sheets_page, LOOK),
    route("/sheets", send_form, DO, post=True),
    route("/sent/{number}", sent_page, LOOK),
    route("/sheet/{number}", sheet_page, LOOK),
    route("/sheet/{number}/correction", correction_file, LOOK),
    route("/sheet/{number}/changes", changes_page, LOOK),
]
