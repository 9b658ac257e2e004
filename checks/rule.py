"""What a rule is: a line of the rule table."""

from dataclasses import dataclass
from typing import Literal

from pipeline.intake.kinds import kinds

SEND_BACK, HOLD, NOTE = "send_back", "hold", "note"
Severity = Literal["send_back", "hold", "note"]
ROWS, COFFEE, SEASON = "rows", "coffee", "season"
Stage = Literal["rows", "coffee", "season"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """One rule; its code never changes, since journals, tests and pages use it.

    `on`: the kinds it looks at, each through the view `check_<kind>`, or the query `<query>.sql`.
    `where`: SQL over that view, true where the row is doubtful. `col`: the cell it points at.
    `facts`: the row's own values that `say` names. `limits`: the limits that `where` compares with.
    `sure`: how sure it is that something is wrong, 0 to 1; the queue is ranked by it.
    `stage`: ROWS looks at rows as they came; COFFEE at what following the coffee set aside, which
    settles the states of lots, sales and counts; SEASON at what the whole season adds up to, so it
    runs last and only ever notes.
    """

    code: str
    on: tuple[str, ...]
    severity: Severity
    col: str
    where: str
    say: str
    do: str
    facts: tuple[str, ...] = ()
    limits: tuple[str, ...] = ()
    query: str = ""
    sure: float = 0.9
    stage: Stage = ROWS
    source: str = ""

    @property
    def title(self) -> str:
        """The code as words: "net-not-gross-less-tare" is "Net not gross less tare"."""
        return self.code.replace("-", " ").capitalize()

    @property
    def cell(self) -> str:
        """The stored column behind `col`: money is stored in minor units."""
        return kinds()[self.on[0]].column(self.col).stored
