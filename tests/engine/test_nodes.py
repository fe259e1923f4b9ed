"""Interval arithmetic and Kleene's logic: whatever the true values are, what is proved holds of them.

Figures: facts and limits are invented; those of the rules that ship have their basis in rules/*.toml.
"""

import itertools
import math

import numpy as np
import pytest
from hypothesis import given, strategies as st

from capcheck.engine.expression import read_expression
from capcheck.engine.view import View
from capcheck.facts import Catalogue
from capcheck.facts.columns import Numbers, Sets, Texts, Truths
from capcheck.values.interval import UNKNOWN, Interval
from capcheck.values.units import LENGTH, NUMBER


@pytest.fixture
def catalogue():
    facts = Catalogue()
    for name in "abc":
        facts.number(f"part.{name}", NUMBER, name)(lambda: None)
    for name in "pq":
        facts.flag(f"part.{name}", name)(lambda: None)
    facts.number("part.size", LENGTH, "size")(lambda: None)
    facts.text("part.colour", "colour", choices=("red", "green"))(lambda: None)
    facts.set_of("part.colours", "colours", choices=("red", "green"))(lambda: None)
    return facts


class Values:
    def __init__(self, **columns):
        self.columns = {f"part.{name}": column for name, column in columns.items()}

    def get(self, name):
        return self.columns[name]

    def keep(self, _node, work):
        return work(self)


class Seen(View):
    """A view with columns of its own, which keeps what it has worked out as any other."""

    def __init__(self, **columns):
        super().__init__(None, None)
        self.columns = columns

    def get(self, name):
        return self.columns[name.removeprefix("part.")]


def numbers(*intervals):
    return Numbers.of(intervals)


bounded = st.floats(min_value=-100, max_value=100)


@st.composite
def interval_and_point(draw):
    low, high = sorted((draw(bounded) + 0.0, draw(bounded) + 0.0))  # -0.0 and 0.0 sort as they come
    point = draw(st.floats(min_value=low, max_value=high))
    openings = draw(st.sampled_from(["closed", "closed", "open above", "open below", "open"]))
    return (
        Interval(
            -math.inf if openings in {"open", "open below"} else low,
            math.inf if openings in {"open", "open above"} else high,
        ),
        point,
    )


EXPRESSIONS = [
    "part.a + part.b <= part.c",
    "part.a - part.b < part.c",
    "part.a * part.b >= part.c",
    "part.a / part.b > part.c",
    "min(part.a, part.b) <= part.c",
    "max(part.a, part.b, part.c) <= 50",
    "abs(part.a) <= part.b",
    "-part.a <= part.b and not part.b < part.c",
    "part.a <= part.b or part.b <= part.c",
    "part.a <= part.b <= part.c",
    "not (part.a <= part.b) or part.c > 0",
    "part.a != part.b and part.c >= 0",
    "part.a == part.b",
]


@pytest.mark.parametrize("text", EXPRESSIONS)
@given(values=st.tuples(interval_and_point(), interval_and_point(), interval_and_point()))
def test_what_is_proved_of_intervals_holds_of_every_point_in_them(catalogue_session, text, values):
    intervals = [interval for interval, _ in values]
    points = [point for _, point in values]
    tree = read_expression(text, catalogue_session, {})
    truth = tree.evaluate(Values(**{n: numbers(i) for n, i in zip("abc", intervals, strict=True)}))
    a, b, c = points
    if "/" in text and b == 0:
        return
    names = {"min": min, "max": max, "abs": abs}
    plain = text.replace("part.", "")
    actual = eval(plain, {"__builtins__": {}}, {**names, "a": a, "b": b, "c": c})  # noqa: S307  fixed texts above
    # A point may sit on a limit that rounding moves by one unit in the last place: near misses prove nothing.
    if _near_miss(a, b, c):
        return
    if truth.yes[0]:
        assert actual
    if truth.no[0]:
        assert not actual


def test_a_limit_by_many_conditions_holds_where_their_comparisons_are_kept(catalogue):
    """A view keeps the sides of few comparisons; those that a limit asks for come before its own are kept."""
    conditions = " and ".join(f"part.a > {k}" for k in range(9))
    tree = read_expression(f"part.b <= (5 if {conditions} else 3)", catalogue, {})
    view = Seen(a=numbers(Interval.exactly(9.0), Interval.exactly(8.0)), b=numbers(*[Interval.exactly(4.0)] * 2))
    assert [tree.evaluate(view).value(row) for row in (0, 1)] == [True, False]


def _near_miss(a, b, c):
    terms = [a, b, c, a + b, a - b, a * b, a / b if b else 0, 50, 0, -a]
    return any(abs(x - y) < 1e-9 * max(1, abs(x), abs(y)) for x, y in itertools.combinations(terms, 2))


@pytest.fixture(scope="module")
def catalogue_session():
    facts = Catalogue()
    for name in "abc":
        facts.number(f"part.{name}", NUMBER, name)(lambda: None)
    return facts


@pytest.mark.parametrize(
    ("low", "high", "limit", "expected"),
    [(3, 3, 3, True), (3.1, 3.1, 3, False), (2, 4, 3, None), (2, 3, 3, True), (3, 4, 3, None), (3.5, 4, 3, False)],
)
def test_at_most_is_proved_disproved_or_open(catalogue, low, high, limit, expected):
    tree = read_expression(f"part.a <= {limit}", catalogue, {})
    assert tree.evaluate(Values(a=numbers(Interval(low, high)))).value(0) is expected


@pytest.mark.parametrize(("p", "q"), list(itertools.product([True, False, None], repeat=2)))
def test_logic_is_kleenes(catalogue, p, q):
    """Truth tables: S. C. Kleene, Introduction to Metamathematics (1952), section 64, strong tables."""
    values = Values(p=Truths.of([p]), q=Truths.of([q]))
    order = {False: 0, None: 1, True: 2}
    back = {0: False, 1: None, 2: True}
    assert (
        read_expression("part.p and part.q", catalogue, {}).evaluate(values).value(0) is back[min(order[p], order[q])]
    )
    assert read_expression("part.p or part.q", catalogue, {}).evaluate(values).value(0) is back[max(order[p], order[q])]
    assert read_expression("not part.p", catalogue, {}).evaluate(values).value(0) is back[2 - order[p]]


def test_an_unknown_text_is_neither_equal_nor_different(catalogue):
    values = Values(colour=Texts.of(["red", "green", None]))
    same = read_expression("part.colour == 'red'", catalogue, {}).evaluate(values)
    other = read_expression("part.colour != 'red'", catalogue, {}).evaluate(values)
    assert [same.value(i) for i in range(3)] == [True, False, None]
    assert [other.value(i) for i in range(3)] == [False, True, None]


def test_membership_of_a_set_takes_a_fixed_text_or_a_fact(catalogue):
    values = Values(
        colour=Texts.of(["red", "green", None]), colours=Sets([frozenset({"red"}), frozenset({"red"}), None])
    )
    fixed = read_expression("'red' in part.colours", catalogue, {}).evaluate(values)
    fact = read_expression("part.colour in part.colours", catalogue, {}).evaluate(values)
    listed = read_expression("part.colour not in ('red',)", catalogue, {}).evaluate(values)
    assert [fixed.value(i) for i in range(3)] == [True, True, None]
    assert [fact.value(i) for i in range(3)] == [True, False, None]
    assert [listed.value(i) for i in range(3)] == [False, True, None]


def test_is_known_is_never_undecided(catalogue):
    values = Values(a=numbers(Interval.exactly(1), UNKNOWN, Interval(0, math.inf)), colour=Texts.of(["red", None, ""]))
    number = read_expression("is_known(part.a)", catalogue, {}).evaluate(values)
    text = read_expression("is_known(part.colour)", catalogue, {}).evaluate(values)
    assert [number.value(i) for i in range(3)] == [True, False, False]
    assert [text.value(i) for i in range(3)] == [True, False, True]


def test_the_margin_is_the_distance_to_the_limit(catalogue):
    (at_most,) = [read_expression("part.size <= '5 mm'", catalogue, {})]
    at_least = read_expression("part.size >= '5 mm'", catalogue, {})
    values = Values(size=numbers(Interval(4, 4.5), Interval.exactly(6.2)))
    margin = at_most.margin(values)
    assert np.allclose(margin.low, [0.5, -1.2])
    assert np.allclose(margin.high, [1.0, -1.2])
    assert np.allclose(at_least.margin(values).low, [-1.0, 1.2])
