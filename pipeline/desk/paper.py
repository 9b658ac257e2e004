"""A page to type a paper sheet on, drawn from the declaration of its kind."""

from decimal import Decimal, InvalidOperation
from typing import Any

from starlette.datastructures import UploadFile
from starlette.responses import Response
from starlette.routing import Route

from pipeline.desk.pages import Asked, Refused, away, route
from pipeline.desk.spoken import say
from pipeline.intake.kinds import Column, Kind, kinds
from pipeline.intake.template import template_csv

DO = ("clerk", "manager")
# Rows on a page where nobody asked for more, and the most that one page holds.
ROWS, MOST_ROWS = 12, 60
SUMMED = ("kg", "money", "integer", "days", "quantity")
NOT_SUMMED = ("receipt_no", "line", "planted_year", "crop_year")


def kinds_page(asked: Asked) -> Response:
    """Which paper sheet it is."""
    language = asked.language
    found = [(k.name, k.titles[language], k.abouts[language]) for k in kinds().values()]
    return asked.page("type_kinds", kinds=found)


def type_page(asked: Asked) -> Response:
    """The empty page of a kind."""
    kind = _kind(asked)
    asked_for = asked.query("rows")
    rows = min(MOST_ROWS, max(1, int(asked_for))) if asked_for.isdecimal() else ROWS
    return _page(asked, kind, [{} for _ in range(rows)], {}, [])


def _kind(asked: Asked) -> Kind:
    found = kinds().get(asked.path("kind"))
    if found is None:
        raise Refused(404, asked.words["no_kind"], "/type")
    return found


def columns_shown(kind: Kind, every: bool) -> list[Column]:
    """Return the columns a page shows: those that are needed and the usual ones, or every one."""
    usual = [
        c for c in kind.columns if c.required or c.name in ("moisture_pct", "bags", "recorder")
    ]
    return list(kind.columns) if every or len(kind.columns) < 12 else usual


def _page(
    asked: Asked,
    kind: Kind,
    rows: list[dict[str, str]],
    said: dict[str, str],
    wrong: list[str],
    status: int = 200,
) -> Response:
    every = asked.query("columns") == "all" or any(asked.form.getlist("every"))
    columns = columns_shown(kind, every)
    summed = [c for c in columns if c.type in SUMMED and c.name not in NOT_SUMMED]
    return asked.page(
        "type",
        status,
        kind=kind,
        columns=[_column(column, asked.language) for column in columns],
        words={name: text for name, text in asked.words.items() if name.startswith("js_")},
        summed=[(c.name, c.heading(asked.language)) for c in summed],
        rows=rows,
        said=said,
        wrong=wrong,
        every=every,
        fewer=len(columns) < len(kind.columns),
        stations=[
            (s.code, s.name) for s in asked.sight.settings.stations if asked.who.sees(s.code)
        ],
    )


def _column(column: Column, language: str) -> dict[str, Any]:
    return {
        "name": column.name,
        "heading": column.heading(language),
        "about": column.about,
        "required": column.required,
        "example": column.example_in(language),
        "words": list(column.words(language).values()) if column.choices else [],
        "mode": "decimal" if column.type in SUMMED or column.type == "percent" else "text",
        "width": "wide" if column.type == "text" else "narrow",
    }


def type_form(asked: Asked) -> Response:
    """Check count and totals against the paper, then keep the page as a sheet like any other."""
    kind = _kind(asked)
    columns = [column.name for column in kind.columns]
    many = {
        name: [str(cell).strip() for cell in asked.form.getlist(f"c-{name}")] for name in columns
    }
    height = max((len(cells) for cells in many.values()), default=0)
    rows = [
        {name: cells[at] for name, cells in many.items() if at < len(cells) and cells[at]}
        for at in range(min(height, MOST_ROWS * 10))
    ]
    filled = [row for row in rows if row]
    said = {
        key: asked.text(key)
        for key in ("count", "name", *(f"total-{name}" for name in columns))
        if asked.text(key)
    }
    wrong = differences(kind, filled, said, asked.words, asked.language)
    photo = asked.form.get("photo")
    has_photo = isinstance(photo, UploadFile) and bool(photo.filename)
    if wrong and not (said.get("count") and asked.text("as-it-is")):
        return _page(asked, kind, rows, said, wrong, 422)
    name = f"{asked.text('name') or kind.name}.csv"
    files = [(name, template_csv(kind, rows=filled))]
    if has_photo and isinstance(photo, UploadFile):
        files.append((photo.filename or "photo", photo.file.read()))
    job = asked.office.work.send(
        files,
        by=asked.who.name,
        answer={"kind": kind.name},
        stations=asked.who.own_stations,
    )
    asked.office.log.note(asked.who.name, "typed a sheet", name)
    return away(f"/sent/{job.id}")


def differences(
    kind: Kind,
    rows: list[dict[str, str]],
    said: dict[str, str],
    words: dict[str, str],
    language: str,
) -> list[str]:
    """Return what differs between the rows typed and the paper's own count and totals."""
    if not rows:
        return [words["no_row"]]
    found: list[str] = []
    count = said.get("count", "")
    if not count:
        found.append(words["no_count"])
    elif count != str(len(rows)):
        found.append(say(words, "differs", count, len(rows)))
    for column in kind.columns:
        total = said.get(f"total-{column.name}", "")
        if total:
            typed = [_number(row.get(column.name, "0")) for row in rows]
            paper = _number(total)
            if paper is None or None in typed:
                found.append(say(words, "no_number", column.heading(language)))
            elif (added := sum((n for n in typed if n is not None), Decimal(0))) != paper:
                heading = column.heading(language)
                found.append(say(words, "total_differs", heading, total, f"{added:f}"))
    return found


def _number(text: str) -> Decimal | None:
    try:
        return Decimal(text or "0")
    except InvalidOperation:
        return None


ROUTES: list[Route] = [
    route("/type", kinds_page, DO),
    route("/type/{kind}", type_page, DO),
    route("/type/{kind}", type_form, DO, post=True),
]
