"""A few hundred made inputs: rows that add up or a plain sentence. `make fuzz` reads many more."""

import pytest

from tests.fuzz.inputs import Input, made
from tests.fuzz.promises import Broken, look
from tests.fuzz.running import run, smaller

SEED = 20260504


def test_inputs_add_up_or_are_refused_in_a_sentence() -> None:
    outcome = run(SEED, range(300), keep=False)
    # This process holds what other tests left in memory: only `make fuzz` can judge that.
    assert [fault for fault in outcome.faults if not fault.startswith("memory")] == []
    assert outcome.inputs == 300
    assert outcome.codes["read"] > 60
    assert len(outcome.codes) > 5


def test_the_same_number_makes_the_same_input() -> None:
    assert [made(SEED, n) for n in range(50)] == [made(SEED, n) for n in range(50)]
    assert len({made(SEED, n).content for n in range(50)}) > 45


def test_a_row_that_is_lost_would_be_seen() -> None:
    given = next(i for i in (made(SEED, n) for n in range(100)) if i.rows and len(i.rows) > 1)
    look(given)
    with pytest.raises(Broken):
        look(Input(given.name, given.content, (*given.rows, 99)))


def test_a_failing_input_is_made_smaller() -> None:
    assert smaller(b"aaaa,bbbb;cccc", lambda content: b";" in content) == b";"
