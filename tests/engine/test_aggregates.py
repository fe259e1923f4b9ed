"""What is asked of many: whatever the truth about each member is, what is proved holds of it.

Figures: facts and limits are invented.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Sequence

import numpy as np
import pytest
from depth import sample_size
from hypothesis import given, settings, strategies as st

from capcheck.engine.expression import ExpressionError, read_expression, read_value
from capcheck.engine.nodes import Members
from capcheck.engine.subjects import SUBJECTS
from capcheck.engine.view import turned_name
from capcheck.facts import Catalogue
from capcheck.facts.columns import Numbers, Texts, Truths
from capcheck.lexicon import sentence
from capcheck.values.interval import Interval
from capcheck.values.units import NUMBER

FACTS = Catalogue()
for _name in ("part.a", "part.b", "pair.gap", "pair.first.a", "pair.second.a"):
    FACTS.number(_name, NUMBER, "a number")(lambda: None)
FACTS.flag("part.p", "a flag")(lambda: None)
FACTS.text("part.colour", "a text", choices=("red", "green"))(lambda: None)


class Rows:
    """Members as they are stated, a mapping a member: numbers as intervals, flags and texts with None for unknown."""

    def __init__(self, rows, *, sure=None, side=None, more=0.0, turned=False):
        self.rows, self.sure, self.side, self.more, self.is_turned = rows, sure, side, more, turned

    def get(self, name):
        name = turned_name(name) if self.is_turned else name
        values = [row[name] for row in self.rows]
        kind = FACTS[name].kind
        return {"number": Numbers.of, "flag": Truths.of, "text": Texts.of}[kind](values)

    def keep(self, node, work):  # noqa: ARG002
        return work(self)

    def turned(self):
        return Rows(self.rows, sure=self.sure, side=self.side, more=self.more, turned=not self.is_turned)

    def members(self, scope, of):  # noqa: ARG002
        whole = None if self.side is None else np.array([-1 if s is None else s for s in self.side], np.int64)
        return Members(
            env=self,
            count=len(self.rows),
            sure=None if self.sure is None else Truths.of(self.sure),
            whole=whole,
            more=np.full(1 if whole is None else 2, self.more),
            rows=None,
            names=Texts.of([f"P{n}" for n in range(len(self.rows))]),
        )


ends = st.integers(0, 4)
intervals = st.tuples(ends, ends).map(lambda pair: Interval(*map(float, sorted(pair))))
truths = st.sampled_from([True, False, None])
colours = st.sampled_from(["red", "green", None])
members = st.fixed_dictionaries({"part.a": intervals, "part.b": intervals, "part.p": truths, "part.colour": colours})
populations = st.lists(st.tuples(members, truths), max_size=3)
"""Members with whether each is one at all."""

Chosen = Callable[[dict], bool]
EXPRESSIONS: dict[str, Callable[[Sequence[dict]], float | bool]] = {
    "count(part)": len,
    "count(part, where part.a > 2.5)": lambda rows: sum(r["part.a"] > 2.5 for r in rows),
    "count(part where part.p and part.a <= 1.5)": lambda rows: sum(r["part.p"] and r["part.a"] <= 1.5 for r in rows),
    "count(part, where part.colour == 'red')": lambda rows: sum(r["part.colour"] == "red" for r in rows),
    "sum(part.a)": lambda rows: sum(r["part.a"] for r in rows),
    "sum(part.a - part.b, where part.p)": lambda rows: sum(r["part.a"] - r["part.b"] for r in rows if r["part.p"]),
    "least(part.a, where part.p)": lambda rows: min((r["part.a"] for r in rows if r["part.p"]), default=math.inf),
    "greatest(part.a)": lambda rows: max((r["part.a"] for r in rows), default=-math.inf),
    "greatest(part.a, where part.colour == 'red')": lambda rows: max(
        (r["part.a"] for r in rows if r["part.colour"] == "red"), default=-math.inf
    ),
}
TRUTHS: dict[str, Callable[[Sequence[dict]], bool]] = {
    "any(part.a > 2.5)": lambda rows: any(r["part.a"] > 2.5 for r in rows),
    "any(part.a > 2.5, where part.p)": lambda rows: any(r["part.a"] > 2.5 and r["part.p"] for r in rows),
    "all(part.a > 2.5)": lambda rows: all(r["part.a"] > 2.5 for r in rows),
    "all(part.a > 2.5, where part.colour == 'red')": lambda rows: all(
        r["part.a"] > 2.5 or r["part.colour"] != "red" for r in rows
    ),
    "sum(part.a, where part.p) <= 4.5": lambda rows: sum(r["part.a"] for r in rows if r["part.p"]) <= 4.5,
    "count(part, where part.p) >= 1 and greatest(part.a) < 3.5": lambda rows: (
        any(r["part.p"] for r in rows) and max((r["part.a"] for r in rows), default=-math.inf) < 3.5
    ),
    "(greatest(part.a) if any(part.p) else least(part.b)) > 1.5": lambda rows: (
        (
            max((r["part.a"] for r in rows), default=-math.inf)
            if any(r["part.p"] for r in rows)
            else min((r["part.b"] for r in rows), default=math.inf)
        )
        > 1.5
    ),
    "count(part, where part.a in (1, 2)) == 1": lambda rows: sum(r["part.a"] in {1, 2} for r in rows) == 1,
}


def completions(population):
    """Yield every way in which the facts of the members may turn out, and which are members."""
    of_each = []
    for row, sure in population:
        ways = [
            [float(v) for v in range(int(value.low), int(value.high) + 1)]
            if isinstance(value, Interval)
            else (["red", "green"] if name == "part.colour" else [True, False])
            if value is None
            else [value]
            for name, value in row.items()
        ]
        rows = [dict(zip(row, way, strict=True)) for way in itertools.product(*ways)]
        of_each.append([*(rows if sure is not False else []), *([None] if sure is not True else [])])
    for chosen in itertools.product(*of_each):
        yield [row for row in chosen if row is not None]


def given_rows(population):
    return Rows([row for row, _ in population], sure=[sure for _, sure in population])


@pytest.mark.parametrize("text", EXPRESSIONS)
@settings(max_examples=sample_size(25))
@given(population=populations.filter(lambda p: len(list(itertools.islice(completions(p), 3000))) < 3000))
def test_a_number_lies_within_its_bounds_however_the_members_turn_out_and_the_bounds_are_reached(text, population):
    found = read_value(text, FACTS, {}).evaluate(given_rows(population))
    possible = [EXPRESSIONS[text](rows) for rows in completions(population)]
    assert found.low[0] == min(possible)
    assert found.high[0] == max(possible)


@pytest.mark.parametrize("text", TRUTHS)
@settings(max_examples=sample_size(25))
@given(population=populations.filter(lambda p: len(list(itertools.islice(completions(p), 3000))) < 3000))
def test_what_is_proved_of_many_holds_however_they_turn_out(text, population):
    truth = read_expression(text, FACTS, {}).evaluate(given_rows(population))
    possible = {bool(TRUTHS[text](rows)) for rows in completions(population)}
    if truth.yes[0]:
        assert possible == {True}
    if truth.no[0]:
        assert possible == {False}


@pytest.mark.parametrize("text", TRUTHS)
@settings(max_examples=sample_size(50))
@given(population=st.lists(st.tuples(members, truths), min_size=1, max_size=4), data=st.data())
def test_knowing_less_of_a_member_never_makes_a_pass(text, population, data):
    tree = read_expression(text, FACTS, {})
    before = tree.evaluate(given_rows(population))
    at = data.draw(st.integers(0, len(population) - 1))
    row, sure = population[at]
    name = data.draw(st.sampled_from(["member", *row]))
    if name == "member":
        wider = (row, None)
    elif isinstance(row[name], Interval):
        low, high = data.draw(st.sampled_from([(1, 0), (0, 1), (1, 1), (math.inf, math.inf)]))
        wider = ({**row, name: Interval(row[name].low - low, row[name].high + high)}, sure)
    else:
        wider = ({**row, name: None}, sure)
    after = tree.evaluate(given_rows([*population[:at], wider, *population[at + 1 :]]))
    assert not after.yes[0] or before.yes[0]
    assert not after.no[0] or before.no[0]


@pytest.mark.parametrize("text", TRUTHS)
@settings(max_examples=sample_size(25))
@given(population=populations, more=st.sampled_from([1.0, math.inf]))
def test_members_that_nobody_has_listed_are_counted_with(text, population, more):
    """Where there may be more members, only what no member can change is proved."""
    rows = given_rows(population)
    before = read_expression(text, FACTS, {}).evaluate(rows)
    rows.more = more
    after = read_expression(text, FACTS, {}).evaluate(rows)
    assert not after.yes[0] or before.yes[0]
    if text.startswith(("all", "sum", "count(part, where part.a in")):
        assert not after.yes[0]


@given(population=st.lists(st.tuples(members, st.sampled_from([0, 1, None])), max_size=5))
def test_of_a_side_count_its_own_members_and_perhaps_those_whose_side_is_open(population):
    rows = Rows([row for row, _ in population], side=[side for _, side in population])
    tree = read_value("count(part, where part.a > 2.5)", FACTS, {}, subject=SUBJECTS["side"])
    found = tree.evaluate(rows)
    for side in (0, 1):
        own = [row["part.a"] for row, s in population if s == side]
        opened = [row["part.a"] for row, s in population if s is None]
        assert found.low[side] == sum(a.low > 2.5 for a in own)
        assert found.high[side] == sum(a.high > 2.5 for a in (*own, *opened))


pair_rows = st.lists(
    st.fixed_dictionaries({"pair.gap": intervals, "pair.first.a": intervals, "pair.second.a": intervals}), max_size=4
)
OF_PAIRS = [
    "count(pair, where pair.first.a > 2.5 and pair.second.a < 1.5)",
    "any(pair.gap > 1.5, where pair.first.a > 2.5)",
    "all(pair.gap > 1.5, where pair.first.a > 2.5)",
    "least(pair.first.a - pair.second.a, where pair.gap < 2.5)",
    "greatest(pair.first.a, where pair.second.a < 2.5)",
]


@pytest.mark.parametrize("text", OF_PAIRS)
@given(rows=pair_rows, data=st.data())
def test_which_of_a_pair_is_the_first_makes_no_difference(text, rows, data):
    tree = read_value(text, FACTS, {})
    swap = [data.draw(st.booleans()) for _ in rows]
    turned = [
        {"pair.gap": r["pair.gap"], "pair.first.a": r["pair.second.a"], "pair.second.a": r["pair.first.a"]} if s else r
        for r, s in zip(rows, swap, strict=True)
    ]
    one, other = tree.evaluate(Rows(rows)), tree.evaluate(Rows(turned))
    for field in ("low", "high") if isinstance(one, Numbers) else ("yes", "no"):
        assert getattr(one, field)[0] == getattr(other, field)[0]


def test_a_sum_on_its_limit_does_not_miss_it_by_the_last_digit():
    rows = [{"part.a": Interval.exactly(0.1), "part.p": True} for _ in range(3)]
    assert read_expression("sum(part.a) <= 0.3", FACTS, {}).evaluate(Rows(rows)).value(0) is True


@pytest.mark.rows(
    "text",
    [
        "least(part.a) - least(part.b) in (1, 2)",
        "least(part.a) - least(part.b) not in (1, 2)",
        "least(part.a) - least(part.b) <= 3",
        "least(part.a) + greatest(part.b) != 3",
        "(least(part.a) - least(part.b)) * 2 <= 3",
        "2 / (least(part.a) - least(part.b)) <= 3",
        "least(part.a) * 0 <= 3",
        "greatest(part.a) * sum(part.b) >= -3",
        "least(part.a) / least(part.b) <= 3",
    ],
)
def test_what_cancels_where_there_is_none_is_undecided(text):
    """The least of none is beyond any number; from two of them no number comes out, and nothing is proved."""
    assert read_expression(text, FACTS, {}).evaluate(Rows([])).value(0) is None


def test_who_is_counted_and_who_leaves_it_open_is_named():
    rows = [{"part.a": Interval(low, high)} for low, high in ((3, 3), (2, 3), (1, 1))]
    count = read_value("count(part, where part.a > 2.5)", FACTS, {})
    assert sentence(count.note(Rows(rows), 0)) == "P0; undecided: P1"
    assert sentence(read_value("greatest(part.a)", FACTS, {}).note(Rows(rows), 0)) == "P0"
    every = read_value("all(part.a < 2.5)", FACTS, {})
    assert sentence(every.note(Rows(rows), 0)) == "where it does not hold: P0; undecided: P1"
    assert read_value("count(part)", FACTS, {}).note(Rows([]), 0) is None


@pytest.mark.rows(
    ("text", "said"),
    [
        ("count(parts) > 1", "write part"),
        ("count(part, part.p) > 1", "count is written like count(part, where"),
        ("count(part, where count(part) > 1) > 1", "stands in another count"),
        ("count(part, where pair.gap > 1) > 1", "does not see pair.gap"),
        ("count(part, where is_known(part.a)) > 1", "what is unknown would drop out and pass"),
        ("all(is_known(part.a))", "what is unknown would drop out and pass"),
        ("sum(pair.first.a) > 1", "which of a pair is the first does not matter"),
        ("count(part of side) > 1", "is about no side"),
        ("count(part of box) > 1", 'of side" or "of board'),
        ("sum(part.p) > 1", "stands where a number is expected"),
        ("any(part.a)", "stands where true or false is expected"),
        ("sum(3) > 1", "about nothing of which there are many"),
        ("sum(part.a, pair.gap) > 1", "sum is written like"),
        ("any(part.a > pair.gap)", "is about part and pair at once"),
    ],
)
def test_what_cannot_be_counted_says_so(text, said):
    with pytest.raises(ExpressionError) as caught:
        read_value(text, FACTS, {})
    assert said in str(caught.value)
