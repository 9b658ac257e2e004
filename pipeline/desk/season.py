"""The season at a glance, and the statements: what they would say, then issuing them."""

import json
import os
import subprocess
import sys
import threading
from datetime import date
from pathlib import Path
from typing import Any

from starlette.responses import FileResponse, Response
from starlette.routing import Route

from checks.rules import BY_CODE
from pipeline.approve import ROLES as MAY_APPROVE
from pipeline.approve import approval, approve, changes
from pipeline.book.journal import Journal
from pipeline.desk import say
from pipeline.desk.chart import bars
from pipeline.desk.desk import Sight
from pipeline.desk.generation import Generation
from pipeline.desk.issued import issued_page, last_manifest
from pipeline.desk.pages import Asked, Refused, away, route

LOOK = ("manager", "treasurer", "chair", "auditor")
# Issues that run or ran since the start, by book: what each said.
_RUNNING: dict[Path, dict[str, Any]] = {}
_LOCK = threading.Lock()


def season_page(asked: Asked) -> Response:
    """Coffee in, money, moisture, flags and the gate, of one season."""
    one, sight = _generation(asked), asked.sight
    settings, totals = sight.settings, one.totals
    season = totals.season
    journal = [line for line in sight.journal.lines if line.what == "issued"]
    last = next((x for x in reversed(journal) if x.body["season"] == one.season), None)
    return asked.page(
        "season",
        code=one.season,
        seasons=list(sight.generations),
        coffee=[
            ("Members who delivered", f"{say.plain(season['delivering'])} of "
             f"{say.plain(season['members'])}"),
            ("Weighings counted", say.plain(season["deliveries"])),
            ("Green bean equivalent", say.kg(season["gbe_kg"])),
            ("Waits, not counted yet", f"{say.plain(season['waiting_rows'])} rows, "
             f"{say.kg(season['waiting_kg'])}"),
        ],
        money=[
            ("Value of coffee", say.money(season["value_minor"], settings)),
            ("Deductions", say.money(season["deducted_minor"], settings)),
            ("Paid to members", say.money(season["paid_minor"], settings)),
            ("Owed to members", say.money(season["balance_minor"], settings)),
        ],
        stations=[
            {
                "name": row["name"],
                "deliveries": say.plain(row["deliveries"]),
                "kg": say.kg(row["net_kg"]),
                "gbe": say.kg(row["gbe_kg"]),
                "money": say.money(row["value_minor"], settings),
                "last": say.day(row["last_day"]),
            }
            for row in totals.stations
        ],
        weeks=bars(
            [(say.day(row["week"]), row["gbe_kg"]) for row in totals.weeks],
            "Green bean equivalent a week, kg",
        ),
        moisture=[
            {
                **row,
                "form": str(row["form"]).replace("_", " "),
                "readings": say.plain(row["readings"]),
            }
            for row in totals.moisture
        ],
        rules=[
            {
                "code": row["rule"],
                "title": BY_CODE[row["rule"]].title,
                "open": say.plain(row["still_open"]),
                "of": say.plain(row["flags"]),
                "money": say.money(row["open_minor"], settings) if row["open_minor"] else "",
            }
            for row in totals.rules
        ],
        last=_issue(last) if last else None,
        waiting=sight.waiting(),
    )  # fmt: skip


def _issue(line: Any) -> dict[str, str]:
    return {
        "folder": line.body["folder"],
        "statements": say.plain(line.body["statements"]),
        "by": line.body["by"],
        "on": line.at[:10],
    }


def _generation(asked: Asked) -> Generation:
    one = asked.sight.generation(asked.query("season"))
    if one is None:
        raise Refused(404, "Nothing is worked out yet. Send the registers and sheets.", "/sheets")
    return one


def what_is_issued(one: Generation, sight: Any) -> dict[str, str]:
    """Return how many statements an issue would hold, and how much they say is owed."""
    season = one.totals.season
    return {
        "count": say.plain(season["members"]),
        "amount": say.money(season["balance_minor"], sight.settings),
    }


def issue_page(asked: Asked) -> Response:
    """What an issue would hold, to be confirmed; and what became of the last one."""
    one, sight = _generation(asked), asked.sight
    lines = [line for line in sight.journal.lines if line.what == "issued"]
    with _LOCK:
        running = dict(_RUNNING.get(sight.book.path, {}))
    return asked.page(
        "issue",
        code=one.season,
        would=what_is_issued(one, sight),
        open_flags=say.plain(sight.queue().height),
        waiting=say.kg(one.totals.season["waiting_kg"]),
        issues=[_issue(line) for line in reversed(lines)],
        running=running,
        may=asked.who.is_any("manager"),
        may_approve=asked.who.is_any(*MAY_APPROVE),
        head=journal_head(sight.journal, one.season),
        approved=_approved(sight, one.season),
    )


def _approved(sight: Sight, season: str) -> dict[str, str]:
    """Return by whom and when the statements were approved as the book stands; {} where not."""
    line = approval(sight.journal, season)
    return {} if line is None else {"by": line.body["by"], "on": line.at[:10]}


def journal_head(journal: Journal, season: str) -> str:
    """Return the hash of the last line that made a season's figures, or "" before any."""
    return next((line.hash for line in changes(journal, season)), "")


def approve_form(asked: Asked) -> Response:
    """Approve the statements as the book stands: the service may issue them once it is due."""
    one, sight = _generation(asked), asked.sight
    if not asked.text("sure"):
        raise Refused(422, "Nothing is approved. Confirm how many and how much first.", "/issue")
    if next(changes(sight.journal, one.season, one.journal_n), None):
        raise Refused(
            409, "What came in last is being worked in. Look again in a moment.", "/issue"
        )
    would = what_is_issued(one, sight)
    seen = (asked.text("count"), asked.text("amount"), asked.text("head"))
    # What is worked in since may leave number and sum alike and be other figures all the same.
    if seen != (would["count"], would["amount"], journal_head(sight.journal, one.season)):
        raise Refused(
            409, "The figures changed since you looked. Look again, then confirm.", "/issue"
        )
    approve(sight.book, one.season, by=asked.who.name)
    asked.office.desk.look()
    asked.office.log.note(asked.who.name, "approved statements", one.season)
    return away("/issue")


def issue_form(asked: Asked) -> Response:
    """Issue the statements, once the person has confirmed how many and how much."""
    one, sight = _generation(asked), asked.sight
    would = what_is_issued(one, sight)
    if not asked.text("sure"):
        raise Refused(422, "Nothing is issued. Confirm how many and how much first.", "/issue")
    if (asked.text("count"), asked.text("amount")) != (would["count"], would["amount"]):
        raise Refused(
            409, "The figures changed since you looked. Look again, then confirm.", "/issue"
        )
    with _LOCK:
        held = _RUNNING.get(sight.book.path)
        if held and held["state"] == "running":
            raise Refused(409, "An issue is being drawn now. Wait for it to end.", "/issue")
        _RUNNING[sight.book.path] = {"state": "running", "by": asked.who.name}
    asked.office.log.note(asked.who.name, "issued statements", one.season)
    args = (asked.office, sight.book.path, one.season, asked.who.name)
    threading.Thread(target=_issue_apart, args=args, daemon=True).start()
    return away("/issue")


def _issue_apart(office: Any, path: Path, season: str, by: str) -> None:
    """Issue in a process of its own: the gate takes seconds to load and much memory."""
    code = "from pipeline.cli.main import main; main()"
    words = ["issue", str(path), "--season", season, "--by", by, "--json"]
    done = subprocess.run(
        [sys.executable, "-c", code, *words],
        capture_output=True,
        text=True,
        check=False,
        env=os.environ | {"PYTHONPATH": os.pathsep.join(p for p in sys.path if p)},
    )
    if done.returncode == 0:
        said = json.loads(done.stdout)
        failing = [
            f"{check['name']}, {check['looked_at']}: {check['observed']} ({check['allowed']})"
            for check in said["gate"]
            if not check["ok"]
        ]
        told = {
            "state": "done",
            "statements": said["statements"],
            "rendered": said["rendered"],
            "changed": said["changed"],
            "withheld": list(said["withheld"].items())[:40],
            "failing": failing[:40],
        }
    else:
        told = {"state": "refused", "says": done.stderr.strip().removeprefix("weighbook: ")[:2000]}
    with _LOCK:
        _RUNNING[path] = told | {"by": by, "on": date.today().isoformat()}
    office.desk.look()


def document(asked: Asked) -> Response:
    """A document of the last issue for staff: the checks, or the group report."""
    names = {
        "gate": "gate.html",
        "report": "group/group_report.html",
        "report-print": "group/group_report.pdf",
    }
    name = names.get(asked.path("name"), "")
    found = last_manifest(asked.sight, asked.sight.season)
    if not name or found is None or not (found[0] / name).is_file():
        raise Refused(404, "There is no such document yet. Issue the statements first.", "/issue")
    if name.endswith(".pdf"):
        return FileResponse(found[0] / name, filename=Path(name).name)
    return issued_page((found[0] / name).read_text("utf-8"), figures="")


ROUTES: list[Route] = [
    route("/season", season_page, LOOK),
    route("/issue", issue_page, ("manager", "chair", "auditor")),
    route("/issue", issue_form, ("manager",), post=True),
    route("/issue/approve", approve_form, MAY_APPROVE, post=True),
    route("/issued/{name}", document, LOOK),
]
