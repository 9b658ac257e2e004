"""Members' questions about their statements: lodged, due by a day, answered, and kept."""

from dataclasses import dataclass
from datetime import date, timedelta

from pipeline.book.book import Book, note_settings, now, writing
from pipeline.book.journal import Journal, append
from pipeline.errors import DecisionError

MOST_LETTERS = 1000
# More open questions of one member than this are taken down by the office, not lodged one by one.
MOST_OPEN = 20


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """A member's question: its number, what it is about, when it is due, and its answer.

    `figure`: the code of a figure, or ""; `about`: else the line of the statement, as printed.
    """

    no: int
    member_no: str
    figure: str
    text: str
    about: str
    asked_on: date
    due: date
    answer: str = ""
    answered_by: str = ""
    answered_on: date | None = None

    def late(self, today: date) -> bool:
        """Tell whether it should have been answered by now."""
        return not self.answer and today > self.due


def questions_of(journal: Journal, member_no: str = "") -> list[Question]:
    """Return the questions of all members or of one, the earliest first."""
    found: dict[int, Question] = {}
    for line in journal.lines:
        if line.what == "question":
            body = line.body
            found[line.n] = Question(
                no=line.n,
                member_no=body["member_no"],
                figure=body["figure"],
                text=body["text"],
                about=body.get("about", ""),
                asked_on=date.fromisoformat(line.at[:10]),
                due=date.fromisoformat(body["due"]),
            )
        elif line.what == "answer" and line.body["of"] in found:
            asked = found[line.body["of"]]
            found[asked.no] = Question(
                no=asked.no,
                member_no=asked.member_no,
                figure=asked.figure,
                text=asked.text,
                about=asked.about,
                asked_on=asked.asked_on,
                due=asked.due,
                answer=line.body["text"],
                answered_by=line.body["by"],
                answered_on=date.fromisoformat(line.at[:10]),
            )
    return [one for one in found.values() if member_no in ("", one.member_no)]


def lodge(
    book: Book, member_no: str, figure: str, text: str, *, about: str = "", at: str = ""
) -> Question:
    """Keep a member's question; the same words on the same figure or line again change nothing.

    DecisionError where nothing is asked, too much, or too often. Due in the days that book.toml
    grants to questions.
    """
    at = at or now()
    said = text.strip()
    if not said:
        raise DecisionError("Nothing is asked yet. Write the question, then send it.")
    if len(said) > MOST_LETTERS or len(figure) > 200:
        raise DecisionError(f"The question is longer than {MOST_LETTERS} letters. Say it shorter.")
    with writing(book):
        journal, settings = note_settings(book, book.journal(), at)
        mine = [one for one in questions_of(journal, member_no) if not one.answer]
        for one in mine:
            if (one.figure, one.about, one.text) == (figure, about, said):
                return one
        if len(mine) >= MOST_OPEN:
            raise DecisionError(f"{MOST_OPEN} questions wait for an answer. Come to the office.")
        due = date.fromisoformat(at[:10]) + timedelta(days=settings.questions_days)
        body = {"member_no": member_no, "figure": figure, "text": said, "due": due.isoformat()}
        body |= {"about": about} if about else {}
        journal = append(journal, "question", body, at)
    return questions_of(journal, member_no)[-1]


def answer(book: Book, no: int, text: str, *, by: str, at: str = "") -> Question:
    """Answer a question; DecisionError where there is none, it is answered, or nothing is said."""
    at = at or now()
    if not text.strip() or not by.strip():
        raise DecisionError("An answer needs words and the name of who gives it.")
    with writing(book):
        journal, _ = note_settings(book, book.journal(), at)
        found = next((one for one in questions_of(journal) if one.no == no), None)
        if found is None:
            raise DecisionError(f"There is no question {no}.")
        if found.answer:
            raise DecisionError(f"Question {no} was answered by {found.answered_by}: it stands.")
        body = {"of": no, "text": text.strip(), "by": by.strip()}
        journal = append(journal, "answer", body, at)
    return next(one for one in questions_of(journal) if one.no == no)
