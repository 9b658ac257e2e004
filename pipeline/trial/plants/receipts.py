"""Faults of receipts, and of members' own records beside them."""

from pipeline.trial.honest import Row
from pipeline.trial.planting import Fault, NoRowLeft, Planting

# Of two rows that say the same, the one whose sheet came in later is the one that is flagged: a
# fault of doubling stands in both.
KIND = "weighings"


def _twice_in_sheet(p: Planting, name: str) -> None:
    row = p.free(KIND)
    twin = p.append(KIND, row)
    p.note(name, KIND, twin, also=[(KIND, row["_id"])], money=True)


def _twice_next_week(p: Planting, name: str) -> None:
    row = p.free(KIND, lambda row: row["_week"] < 22)
    twin = p.append(KIND, row, _week=row["_week"] + 1)
    p.note(name, KIND, twin, also=[(KIND, row["_id"])], money=True)


def _number_again(p: Planting, name: str) -> None:
    """Give a receipt the number of one of the week before, as where a used book is taken up."""
    row = p.free(KIND, lambda row: row["_week"] > 2 and row["line"] == 1)
    earlier = p.free(
        KIND,
        lambda other: (
            other["_at"] == row["_at"]
            and other["_week"] == row["_week"] - 1
            and other["line"] == 1
            and other["_member"] != row["_member"]
        ),
    )
    row |= {name: earlier[name] for name in ("receipt_book", "receipt_no")}
    also = [(KIND, earlier["_id"])]
    p.note(name, KIND, row, also=also, beside=p.receipt_rows(earlier["_receipt"]), money=True)


def _void_used(p: Planting, name: str) -> None:
    """Use a number that the office has as void for one more load."""
    book = p.free("receipt_books", lambda book: bool(book["void_nos"]))
    number = int(book["void_nos"].split(", ")[0])
    near = p.free(
        KIND, lambda row: row["_at"] == book["station"] and abs(row["receipt_no"] - number) < 4
    )
    key = f"{book['station']}|{number}"
    extra = {"receipt_book": book["receipt_book"], "receipt_no": number, "line": 1}
    row = p.append(KIND, near, **extra, _receipt=key)
    p.note(name, KIND, row, also=[("receipt_books", book["_id"])], money=True)


def _gap(p: Planting, name: str) -> None:
    """Take two receipts out of a book: a flag on the book or on a receipt beside them finds it."""
    row = p.free(KIND, lambda row: row["_week"] > 1 and row["receipt_no"] % 50 in range(5, 45))
    numbers = (row["receipt_no"], row["receipt_no"] + 1)
    out = [
        place
        for no in numbers
        for place in p.receipt_rows(f"{row['_at']}|{no}")
        if place[0] == KIND
    ]
    if any(place in p.taken for place in out):
        raise NoRowLeft(KIND)
    beside = p.rows(
        KIND,
        lambda other: (
            other["_at"] == row["_at"] and other["receipt_no"] in (numbers[0] - 1, numbers[1] + 1)
        ),
    )
    books = [
        ("receipt_books", book["_id"])
        for book in p.season.rows["receipt_books"]
        if (book["station"], book["receipt_book"]) == (row["_at"], row["receipt_book"])
    ]
    if not beside:
        raise NoRowLeft(KIND)
    explained = [other for no in numbers for other in p.receipt_rows(f"{row['_at']}|{no}")]
    for place in out:
        member = p.row(place)["_member"]
        explained += [*p.member_rows("payments", member), *p.member_rows("plots", member)]
    p.gone |= set(out)
    p.taken |= set(out)
    p.note(name, KIND, *beside, also=[*books, *out], beside=explained)


def _record_with_receipt(p: Planting, written_from: str) -> Row:
    def suits(row: Row) -> bool:
        lines = [place for place in p.receipt_rows(row["_receipt"] or "") if place[0] == KIND]
        free = lines and not any(place in p.taken or place in p.gone for place in lines)
        return bool(free) and row["written_from"] == written_from

    return p.free("deliveries", suits)


def _far(p: Planting, name: str) -> None:
    row = _record_with_receipt(p, "own_notebook")
    factor = p.one_of([0.6, 0.7, 0.75, 1.25, 1.35, 1.5])
    row["kg"] = max(5, 5 * round(row["kg"] * factor / 5))
    p.note(name, "deliveries", row)


def _copy_differs(p: Planting, name: str) -> None:
    row = _record_with_receipt(p, "receipt_copy")
    row["kg"] += 10 * p.whole(1, 9)
    p.note(name, "deliveries", row)


def _never_weighed(p: Planting, name: str) -> None:
    """Write down a receipt that the station's sheet does not have: the line was left out."""
    row = _record_with_receipt(p, p.one_of(["receipt_copy", "own_notebook"]))
    if row["receipt_no"] is None:
        raise NoRowLeft("deliveries")
    lines = [place for place in p.receipt_rows(row["_receipt"]) if place[0] == KIND]
    p.gone |= set(lines)
    explained = [
        *p.member_rows("payments", row["_member"]),
        *p.member_rows("plots", row["_member"]),
    ]
    number = int(row["_receipt"].split("|")[1])
    for no in (number - 1, number + 1):
        explained += p.receipt_rows(f"{row['_receipt'].split('|')[0]}|{no}")
    p.note(name, "deliveries", row, also=lines, beside=explained)


FAULTS = (
    Fault(kind="receipt line twice in its sheet", of="receipts", plant=_twice_in_sheet),
    Fault(kind="receipt line again a week later", of="receipts", plant=_twice_next_week),
    Fault(kind="receipt number used again", of="receipts", plant=_number_again),
    Fault(kind="void receipt used", of="receipts", plant=_void_used),
    Fault(kind="gap in a receipt book", of="receipts", plant=_gap),
    Fault(kind="own record far from the receipt", of="records", plant=_far),
    Fault(kind="copied record differs", of="records", plant=_copy_differs),
    Fault(kind="receipt that was never sent in", of="records", plant=_never_weighed),
)
