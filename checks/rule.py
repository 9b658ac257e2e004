"""What a rule is: a line of the rule table."""

from dataclasses import dataclass
from typing import Literal

from pipeline.intake.kinds import kinds

SEND_BACK, HOLD, NOTE = "send_back", "hold", "note"
Severity = Literal["send_back", "hold", "note"]
ROWS, COFFEE, SEASON = "rows", "coffee", "season"
Stage = Literal["rows", "coffee", "season"]
# Per cent of a `Band`. Counts grow with the season though nothing gets worse: a decision on them
# holds until there is half as much evidence again; one on an amount, until it is a fifth more.
EVIDENCE, AMOUNT = 50, 20


@dataclass(frozen=True, slots=True, kw_only=True)
class Band:
    """How far a finding may grow before what was decided on it lapses.

    `measure`: SQL over the rule's query, a number that grows with the finding; `words`: what it is
    called; `pct`: by how many per cent it may exceed what it was when it was decided on.
    """

    measure: str
    words: str
    pct: int


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
    `about`: where a finding stands on many rows, the columns that name what it is about: its number
    goes by these, not by its first row. `judged`: what a decision stands on; without it the cell's
    value and all facts but limits, or what the finding is about. It lapses where these change, or
    where the finding grows out of its `band`.
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
    about: tuple[str, ...] = ()
    judged: tuple[str, ...] = ()
    band: Band | None = None

    @property
    def title(self) -> str:
        """The code as words: "net-not-gross-less-tare" is "Net not gross less tare"."""
        return self.code.replace("-", " ").capitalize()

    @property
    def cell(self) -> str:
        """The stored column behind `col`: money is stored in minor units."""
        return kinds()[self.on[0]].column(self.col).stored
