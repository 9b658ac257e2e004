"""It adds up: whatever cards, sales and counts say, every gram taken in is somewhere."""

from collections import Counter, defaultdict
from datetime import date, timedelta
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.coffee.events import Bought, Counted, Place, Row, Sold, Step
from pipeline.coffee.order import in_order
from pipeline.coffee.walk import Walk, balance

FIRST = date(2026, 4, 1)
STATIONS, LOTS = ("KES", "ARD"), ("", "A", "B", "C", "D", "E")
FORMS = ("fresh_cherry", "parchment", "green")
GRAMS = st.integers(1, 2_000_000)
DAYS = st.integers(0, 9).map(lambda n: FIRST + timedelta(n))


@st.composite
def steps(draw: st.DrawFn) -> list[Step]:
    """Cards of lots: chains of steps, mixed and split, in and out of order, right and wrong."""
    found: list[Step] = []
    for lot_no in draw(st.lists(st.sampled_from(LOTS[1:]), unique=True)):
        on = draw(DAYS)
        form = draw(st.sampled_from(FORMS[:2]))
        for seq in range(1, draw(st.integers(1, 4)) + 1):
            after = draw(st.sampled_from(FORMS[FORMS.index(form) :]))
            in_g = draw(st.none() | GRAMS) if seq == 1 else found[-1].out_g
            in_g = draw(GRAMS) if in_g is not None and draw(st.integers(0, 4)) == 0 else in_g
            out_g = draw(st.integers(1, (in_g or 10) + 100))
            away = (in_g or out_g) - out_g
            cuts = sorted(draw(st.integers(0, max(away, 0))) for _ in range(4))
            parts = [b - a for a, b in zip([0, *cuts], [*cuts, max(away, 0)], strict=True)]
            names = ("water_g", "parts_g", "sorted_g", "handling_g", "loss_g")
            given_off: dict[str, Any] = dict(zip(names, parts, strict=True))
            made_from = draw(st.lists(st.sampled_from(LOTS[1:]), unique=True, max_size=3))
            found.append(
                Step(
                    row=("lots", 1, len(found)),
                    lot_no=lot_no,
                    seq=seq,
                    day=on,
                    station=draw(st.sampled_from(STATIONS)),
                    species="arabica",
                    form_before=form,
                    form_after=after,
                    from_lots=tuple(made_from) if draw(st.booleans()) else (),
                    in_g=in_g,
                    out_g=out_g,
                    gain_g=max(-away, 0),
                    handling_bp=50,
                    wets=draw(st.booleans()),
                    dries=draw(st.booleans()),
                    waits=draw(st.integers(0, 9)) == 0,
                    **given_off,
                )
            )
            form, on = after, on + timedelta(draw(st.integers(0, 2)))
    return found


@st.composite
def coffee_in(draw: st.DrawFn) -> list[Bought]:
    places = st.builds(
        Place,
        st.sampled_from(STATIONS),
        st.just("arabica"),
        st.sampled_from(FORMS),
        st.sampled_from(LOTS[:3]),
    )
    found: list[Bought] = []
    for place, on in draw(st.lists(st.tuples(places, DAYS), max_size=8, unique=True)):
        grams = draw(GRAMS)
        back = draw(st.integers(0, grams)) if draw(st.booleans()) else 0
        found.append(Bought(day=on, place=place, grams=grams, returned_g=back))
    return found


@st.composite
def sales(draw: st.DrawFn) -> list[Sold]:
    return [
        Sold(
            row=("sales", 2, n),
            day=draw(DAYS),
            station=draw(st.sampled_from(("", *STATIONS))),
            species="arabica",
            form=draw(st.sampled_from(FORMS)),
            lot_no=draw(st.sampled_from(LOTS)),
            grams=draw(GRAMS),
        )
        for n in range(draw(st.integers(0, 5)))
    ]


@st.composite
def counts(draw: st.DrawFn) -> list[Counted]:
    return [
        Counted(
            row=("store_checks", 3, n),
            day=draw(DAYS),
            station=draw(st.sampled_from(STATIONS)),
            form=draw(st.sampled_from(FORMS)),
            lot_no=draw(st.sampled_from(LOTS)),
            grams=draw(st.integers(0, 2_000_000)),
        )
        for n in range(draw(st.integers(0, 3)))
    ]


@settings(max_examples=400, deadline=None)
@given(coffee_in(), steps(), sales(), counts(), st.data())
def test_every_gram_is_somewhere(
    coffee: list[Bought], cards: list[Step], sold: list[Sold], found: list[Counted], data: Any
) -> None:
    rows = [event.row for event in (*cards, *sold)]
    forced: set[Row] = set(data.draw(st.lists(st.sampled_from(rows)))) if rows else set()
    walk = Walk(in_order(coffee, cards, sold, found), forced)
    walk.go()
    sums: Counter[str] = Counter()
    there: defaultdict[Place, int] = defaultdict(int)
    for move in walk.moves:
        sums[move.what] += move.grams
        there[move.place] += move.grams
        assert there[move.place] >= 0 or move.what in ("processed", "parts", "water", "handling")
    # Nothing below nought, and what only changes place or form comes to nothing.
    assert all(grams >= 0 for grams in balance(walk.moves).values())
    assert sums["drawn"] == sums["moved"] == sums["processed"] == 0
    taken_in = sum(one.grams - one.returned_g for one in coffee)
    assert sums["bought"] + sums["returned"] == taken_in
    counted = {one.row for one in sold} - {a.row for a in walk.asides if a.row not in forced}
    assert cards or not walk.asides or {a.row[0] for a in walk.asides} == {"store_checks"}
    assert -sums["sold"] == sum(one.grams for one in sold if one.row in counted)
    # In = out + losses - gains + what lies there.
    away = ("water", "parts", "sorted", "handling", "loss", "gain", "sold", "uncarded")
    assert taken_in + sum(sums[what] for what in away) == sum(balance(walk.moves).values())
    # And every gram taken in is in somebody's hands, once.
    assert sum(sum(one.origins.values()) for one in walk.held()) == taken_in


@settings(max_examples=200, deadline=None)
@given(coffee_in(), steps(), sales(), counts(), DAYS, st.data())
def test_a_walk_goes_on_from_a_halt_as_if_it_had_not_stopped(
    coffee: list[Bought],
    cards: list[Step],
    sold: list[Sold],
    found: list[Counted],
    day: date,
    data: Any,
) -> None:
    rows = [event.row for event in (*cards, *sold)]
    forced: set[Row] = set(data.draw(st.lists(st.sampled_from(rows)))) if rows else set()
    course = in_order(coffee, cards, sold, found)
    whole = Walk(course, forced)
    whole.go()
    first = Walk(course, forced)
    first.go(day)
    halt = first.halt(day)
    second = Walk(course, forced, halt)
    second.go()
    assert [move for move in whole.moves if move.day < day] == first.moves
    assert [move for move in whole.moves if move.day >= day] == second.moves
    assert Counter(whole.asides) == Counter(
        [aside for aside in first.asides if aside.day < day] + second.asides
    )
    assert [one for one in whole.held() if not one.day or one.day >= day] == second.held()


@settings(max_examples=100, deadline=None)
@given(coffee_in(), steps(), DAYS, st.data())
def test_what_changes_before_a_halt_changes_its_digest(
    coffee: list[Bought], cards: list[Step], day: date, data: Any
) -> None:
    course = in_order(coffee, cards, [], [])
    now = course.before(day, ())
    later = Bought(data.draw(DAYS), Place("KES", "arabica", "fresh_cherry", ""), 1)
    more = in_order([*coffee, later], cards, [], [])
    assert (more.before(day, ()) == now) == (later.day >= day)
