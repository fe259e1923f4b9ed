"""Questions and answers: nothing is asked twice, an answer to what changed is refused, and all is written or nothing.

Figures: invented.
"""

import pytest

from capcheck.store import Answer, BoardKey, PartKey, Question, Statement
from capcheck.values import Interval

LAMP = BoardKey("Lamp", "Umbra")
KEY = PartKey(part_number="AB123")
HEIGHT = Question("h-AB123", "height", "How tall is AB123?", "f1", ("U1", "U2"), KEY, ("height",), {"sheet": "parts"})
BARE = Question("side", "side", "Which side is U7 on?", "s1")


def test_what_was_asked_comes_back_as_it_was_and_a_second_time_changes_nothing(store, given):
    store.ask(LAMP, [HEIGHT, BARE], given("Shop", 1))
    store.ask(LAMP, [HEIGHT], given("Shop", 2))
    asked = store.questions(LAMP)
    assert [s.question for s in asked] == [HEIGHT, BARE]
    assert {s.asked for s in asked} == {given("Shop", 1)}
    assert store.questions(BoardKey("Lamp")) == []


def test_an_answer_closes_its_question_and_brings_its_figures(store, given):
    store.ask(LAMP, [HEIGHT, BARE], given())
    answer = Answer("h-AB123", "f1", "1.2 mm", given("Ada", 3), "store")
    statement = Statement(KEY, {"height": Interval(1.2, 1.2)}, given("Ada", 3))
    assert [o.state for o in store.answer(LAMP, [answer], [statement])] == ["accepted"]
    assert [s.question.key for s in store.questions(LAMP)] == ["side"]
    whole = {s.question.key: s for s in store.questions(LAMP, only_open=False)}
    assert whole["h-AB123"].answers == (answer,)
    assert [f.value for f in store.figures(KEY)] == [Interval(1.2, 1.2)]
    assert [o.state for o in store.answer(LAMP, [answer])] == ["same"]
    assert len({s.question.key: s for s in store.questions(LAMP, only_open=False)}["h-AB123"].answers) == 1


def test_an_answer_that_does_not_settle_leaves_the_question_open(store, given):
    store.ask(LAMP, [HEIGHT], given())
    store.answer(LAMP, [Answer("h-AB123", "f1", "about 1 mm", given(), settles=False)])
    assert [s.question.key for s in store.questions(LAMP)] == ["h-AB123"]


@pytest.mark.parametrize(
    ("answer", "state"), [(("h-AB123", "f1"), "changed"), (("h-AB123", "f2"), "accepted"), (("never", "f1"), "unknown")]
)
def test_an_answer_to_what_changed_or_was_never_asked_is_refused_with_all_that_came_with_it(
    store, given, answer, state
):
    store.ask(LAMP, [HEIGHT, BARE], given(day=1))
    changed = Question("h-AB123", "height", "How tall is AB123 in its new package?", "f2", part=KEY)
    store.ask(LAMP, [changed], given(day=2))
    answers = [Answer("side", "s1", "top", given()), Answer(*answer, "1.2 mm", given())]
    statement = Statement(KEY, {"height": Interval(1.2, 1.2)}, given())
    told = store.check_answers(LAMP, answers)
    assert [o.state for o in told] == ["accepted", state]
    assert store.answer(LAMP, answers, [statement]) == told
    taken = state == "accepted"
    assert bool(store.figures(KEY)) is taken
    assert [s.question for s in store.questions(LAMP)] == ([] if taken else [BARE, changed])
