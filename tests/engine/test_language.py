"""What a rule author writes, right and wrong: what it means, and what is said with file, line, reason and cure.

Figures: facts and limits are invented.
"""

from __future__ import annotations

from contextlib import suppress
from types import SimpleNamespace

import numpy as np
import pytest
from hypothesis import given, strategies as st

from capcheck.engine import definitions
from capcheck.engine.collect import load_rules
from capcheck.engine.examples import faults_of, run_examples
from capcheck.engine.expression import read_expression
from capcheck.engine.limit_tables import RowsByKey, fits
from capcheck.engine.named_lengths import with_derived
from capcheck.engine.text_tests import PatternError, matcher
from capcheck.engine.wording import as_python, spelled
from capcheck.facts import FACTS, Catalogue
from capcheck.facts.columns import Numbers, Texts, Truths
from capcheck.values.errors import InputError
from capcheck.values.interval import Interval
from capcheck.values.toml import line_of

SHARED = """\
[constants]
tall = "5 mm"
[sets]
barred = ["A-1", "B 2"]
pitches = ["0.5 mm", "0.65 mm"]
[tables]
cover = [{ "part.package_family" = "soic", most = "2 mm" }]
"""


def rule(require: str, *, when: str = "", subject: str = "part", more: str = "", message: str = "m") -> str:
    return f'''
[[rule]]
id = "own"
title = "t"
subject = "{subject}"
when = """{when}"""
require = """{require}"""
message = "{message}"
why = "w"
remedy = "r"
basis = "b"
{more}
'''


@pytest.fixture
def told(tmp_path):
    """Return a function that gives what is said of a rule file, or an empty text."""

    def read(text: str) -> str:
        path = tmp_path / "own.toml"
        path.write_text(text)
        try:
            load_rules([path], FACTS)
        except InputError as error:
            # With the file and the line in front of each fault.
            return "" if not str(error).startswith(f"{path}:") else str(error).replace(f"{path}:", "")
        return ""

    return read


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("max(part.height) <= '3 mm'", "the greatest of all parts, pairs or fiducials is greatest(part.height)"),
        ("part.height = '3 mm'", "a single = compares nothing; write =="),
        ("part.height <= 1,2 mm", "a decimal has a point and a quantity stands in quotes"),
        ("part.height <= '1,2 mm'", 'a comma may be decimal or part thousands; write "1.2 mm"'),
        ("part.height <= 1,2", "a decimal has a point"),
        ("part.height <= 'nan mm'", "is not a number that anything can be held to"),
        ("part.height ≤ '3 mm'", "write <="),
        ("part.height => '3 mm'", "write >="),
        ("part.located && part.in_bom", "write and"),
        ("!part.located", "write not"),
        ("part.located == True", "write part.located alone"),
        ("part.located == true", "a yes-or-no fact stands alone"),
        ("if part.located then part.in_bom", "write the value first"),
        ("part.height <= ‘3 mm’", "straight quotes"),
        ("average(part.height) <= '3 mm'", "sum(…) / count(…)"),
        ("part.part_number in sets.bared", 'did you mean "barred"?'),
        ("part.pitch in sets.barred", "which holds texts"),
        ("part.pins in (2, '3 mm')", "part.pins is a number, the list holds a length"),
        ("part.part_number in 'A-1'", "for one text write =="),
        ("part.mounting starts with 'top'", "its values: surface, through hole, none"),
        ("part.value matches 'A[1'", "one of several is written [abc]"),
        ("part.value contains ''", "write what it is to hold"),
        ("part.height starts with '3'", "only a text starts with a text"),
        ("part.height <= tables.cover.least", "its columns: most"),
        ("part.height <= tables.cuver.most", 'did you mean "cover"?'),
        ("part.height <= constants.tal", 'did you mean "tall"?'),
        ("sets.barred", "it stands behind"),
        ("part.part_class == 'key swich'", 'did you mean "key switch"?'),
        ("part.rotation <= '3 mm'", "compares an angle (part.rotation) with a length"),
        ("part.column(MSL) == '3'", "part.column('Moisture level')"),
        ("part.column('MSL') > 3", "a text is compared by ==, in, starts with or the like"),
        ("part.side == fiducial.role", "have no value in common"),
        ("count(part, where values.a > 1) > 1", "cannot stand among what is counted"),
        ("part.pins not in ()", "the list is empty"),
        ("part.value in []", "the list is empty"),
        ("part.pins in (3)", "for one number write =="),
        ("part.rotation in (0, 90)", "part.rotation is an angle, the list holds a number; write '0 degree'"),
        ("part.rotation == 90", "with a number (90); write '90 degree'"),
        ("part.height < 3", "with a number (3); write '3 mm'"),
        ("part.polarised == 'yes'", "write part.polarised alone"),
        ("part.polarised != 'no'", "write part.polarised alone"),
        ("part.description contains 'x' or 'y'", "several texts stand in a list: ('x', 'y')"),
        ("part.ref ~ 'R.*'", "write matches"),
        ("part.ref like 'R%'", "write matches"),
        ("not part.ref matches 'R.*'", "* stands for anything"),
        ("part.ref matches '^R[0-9]'", "* stands for anything"),
        ("part.ref matches 'R[0-9]+'", "* stands for anything"),
        ("part.ref matches '(R|C)#'", "* stands for anything"),
        ("part.ref matches 'R\\\\d'", "* stands for anything"),
        ("part.family == 'SOICC-8'", 'did you mean "SOIC-8"?'),  # invented: a name misspelled
        ("part.family not in ('SOT-23', 'QFM-16')", "no table names a package so"),  # invented
        ("part.family == 'TQPF-100'", 'did you mean "TQFP-100"?'),  # invented: letters exchanged
        ("not part.family starts with 'TQPF'", 'did you mean "TQFP"?'),  # invented
        ("part.family != '0603'", 'did you mean "chip 0603, inch or metric"?'),  # invented
        ("part.family == 'Umbra box'", "a name that a library of yours gives, write matches 'Umbra box'"),  # invented
        ("part.family == 'SOT-32'", "no table names a package so"),  # invented: digits exchanged
        ("part.family in ('SOD-523 or SC-8O',)", "no table names a package so"),  # invented: a letter for a digit
        ("part.family == 'key switch'", 'did you mean "switch"?'),
        ("part.height <= part.height", "compares part.height with itself"),
        ("part.value != part.value", "compares part.value with itself"),
        ("part.height <= '3 g'", "write a length, such as"),
        ("part.height <= '3 mmm'", 'did you mean "mm"?'),
        ("part.height == None", "is_known(part.height)"),
        ("part.value is None", "is_known(part.value)"),
        ("part.height between '1 mm' and '2 mm'", "write '1 mm' <= part.height <= '2 mm'"),
        ("part.height and part.located", "expected; compare it with something, such as <= limits.most"),
        ("part.value", "compare it with something, such as == 'text'"),
        ("any(part, where part.pins > 2)", "any asks a condition of its members; write it like any(part.height"),
        ("sum(part) < 3", "sum takes a number of its members; write it like sum(part.mass"),
        ("sum(part.located) < 3", "how often it holds is count(part, where …)"),
        ("head.max_part_height >= part.height", 'one on "part on head" sees it'),
        ("1 < 2", "names no fact"),
        ("constants.tall < '9 mm'", "names no fact"),
        ("part.mounting == ('surfase' if part.pins > 2 else 'none')", 'did you mean "surface"?'),
        ("part.height <= (3 if part.pins > 2 else '5 mm')", "compares a number (3) with a length ('5 mm')"),
    ],
)
def test_a_mistake_in_an_expression_is_told_with_its_cure(told, text, said):
    assert said in told(SHARED + rule(text))


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (rule("pair.gap > '1 mm'", when="pair.kinds == 'chip and connector'", subject="pair"), "is never a value of"),
        (rule("pair.third.height > '1 mm'", subject="pair"), "pair.first and pair.second"),
        (rule("pair.first.hight > '1 mm'", subject="pair"), 'did you mean "pair.first.height"?'),
        (rule("pair.first.height > '1 mm'"), 'a rule on "part" does not see pair.first.height'),
        (rule("count(part of side) > 1", subject="board"), 'make it one on "side"'),
        (rule("part.located", when="part.pins > 3 and part.pins < 2"), '"part.pins > 3" excludes "part.pins < 2"'),
        (rule("part.located", when="part.pins > 3 and 3 >= part.pins"), "can never hold"),
        (rule("part.located", when="part.in_bom and not part.in_bom"), "can never hold"),
        (rule("part.located", when="2 < 1"), "compares two fixed numbers"),
        (rule("part.located", when="part.side == 'top' and part.side in ('bottom',)"), "can never hold"),
        (rule("part.located", message="{values.tall}"), 'no value "tall"'),
        (rule("part.located", message="{tables.cover.least}"), "own.message: tables.cover has no column"),
        (rule("part.located", more='values = { a = "part.width" }'), "values.a is used nowhere"),
        (rule("part.located", more='limits = { least = "1 mm" }'), "limits.least is used nowhere"),
        (rule("part.pins < limits.most", more="limits = { most = true }"), "true is neither a text nor a number"),
        (rule("part.height > limits.most", more='limits = { most = "−1 mm" }'), 'write "-1 mm"'),
        (rule("part.located", message="{} is tall"), "{} names nothing"),
        (
            rule("part.located", more='[[rule.example]]\nfacts = { part.height = "1 mm" }\noutcome = "pass"'),
            'put the name in quotes: "part.height" = …',
        ),
        (rule("values.a < '1 g'", more='values = { a = "part.width" }'), "a length (values.a) with a mass"),
        (rule("part.height < limits.a", more="limits = { a = nan }"), "nan is not a number"),
        (rule("part.height < limits.a", more="limits = { a = inf }"), "for no limit leave the comparison out"),
        (rule("part.height < limits.a", more='limits = { a = "1,2 mm" }'), "a comma may be decimal"),
    ],
)
def test_a_mistake_in_a_rule_is_told_with_its_cure(told, text, said):
    assert said in told(SHARED + text)


def test_a_condition_that_can_hold_is_not_called_unreachable(told):
    for when in (
        "part.pins >= 3 and part.pins <= 3",
        "part.pins > 3 or part.pins < 2",
        "part.pins > 3 and (part.pins < 2 or part.located)",
        "part.mounting in ('surface', 'none') and part.mounting != 'none'",
        "not part.in_bom and part.located",
    ):
        assert told(rule("part.located", when=when)) == ""


def test_the_words_of_the_language_are_put_into_signs_of_the_same_length_and_texts_are_left_alone():
    text = spelled("count(part  of side, where part.value starts with 'a where b' and x matches\n 'c matches d')")
    assert len(as_python(text)) == len(text)
    assert "'a where b'" in as_python(text)
    assert "'c matches d'" in as_python(text)
    assert ",of=side, where=" in as_python(text)
    assert as_python("count(part where x)") == "count(part,where=x)"


def texts(text: str, **values: object) -> list[bool | None]:
    """Return what an expression says of a column of texts, value by value."""
    column = Texts.of(values["values"])
    env = SimpleNamespace(get=lambda _name: column)
    truth = read_expression(text, FACTS, {}).evaluate(env)
    return [truth.value(n) for n in range(len(column))]


@pytest.mark.rows(
    ("text", "yes", "no"),
    [
        ("part.value starts with 'QM'", "qm999", "AQM"),
        ("part.value starts with ('QM', 'QN')", "QN999", "X"),
        ("part.value ends with 'n'", "100N", "n1"),
        ("part.description contains 'shield'", "Metal SHIELD frame", "frame"),
        ("part.part_number starts with 'AB-1'", "ab 123", "AB-2"),
        ("part.part_number ends with '1-R'", "AB 1R", "AB-2R"),
        ("part.part_number contains 'B1-'", "a-b-1 2", "A-B-2"),
        ("part.part_number contains '-'", "A-12", "A12"),
        ("part.value starts with 'a-1'", "A-12", "a12"),
        ("part.part_number matches 'C-####-*'", "c-1234-x", "C-123-x"),
        ("part.part_number matches '[ab]?#'", "Bx1", "cx1"),
        ("part.part_number == 'AB-12 3'", "ab123", "ab124"),
        ("part.part_number in ('AB-1', 'AB-2')", "AB 2", "AB3"),
        ("part.value == '10 k'", "10K", "10-k"),
    ],
)
def test_a_text_is_tested_whatever_its_capitals_and_what_is_not_stated_is_undecided(text, yes, no):
    assert texts(text, values=[yes, no, None, ""]) == [True, False, None, None]
    assert texts(f"not ({text})", values=[yes, no, None, ""]) == [False, True, None, None]


@pytest.mark.rows(
    ("text", "expected"),
    [
        ("part.value == ('a' if part.located else 'b')", [True, False, None, None]),
        ("('a' if part.located else 'b') != part.value", [False, True, None, None]),
        ("part.value in (('a', 'c') if part.located else ('b', 'd'))", [True, False, None, None]),
        ("part.value starts with ('a' if part.located else 'b')", [True, False, None, None]),
        ("part.value == ('a' if part.located else 'a')", [True, True, True, False]),
    ],
)
def test_a_text_may_be_one_or_another_by_a_condition(text, expected):
    values = Texts.of(["a", "a", "a", "b"])
    located = Truths.of([True, False, None, None])
    env = SimpleNamespace(get=lambda name: located if name == "part.located" else values)
    truth = read_expression(text, FACTS, {}).evaluate(env)
    assert [truth.value(n) for n in range(4)] == expected


def test_a_blank_text_can_be_asked_for():
    assert texts("part.part_number == ''", values=["", "A", None]) == [True, False, None]


@given(st.text("ab*?#1", min_size=1, max_size=12), st.text("ab1", max_size=12))
def test_a_pattern_holds_of_what_a_plain_search_through_all_its_readings_finds(pattern, text):
    """The reading of a pattern by recursion, which takes exponential time, is the reference."""

    def reads(p: str, t: str) -> bool:
        if not p:
            return not t
        if p[0] == "*":
            return reads(p[1:], t) or (bool(t) and reads(p, t[1:]))
        one = bool(t) and (p[0] == "?" or (p[0] == "#" and t[0].isdigit()) or p[0] == t[0])
        return one and reads(p[1:], t[1:])

    assert matcher(pattern)(text) is reads(pattern, text)


def test_a_pattern_of_many_stars_is_answered_on_a_long_text():
    """A search that gives back what a star took would not end: 39 stars on 100,000 characters."""
    holds = matcher("*a" * 39 + "*b")
    assert not holds("a" * 100_000)
    assert holds("a" * 100_000 + "b")
    with pytest.raises(PatternError, match="1 to 80 characters"):
        matcher("*" * 81)


@pytest.mark.parametrize(
    ("pattern", "said"),
    [
        ("[+-*]", "a hyphen itself stands first or last"),
        ("[.-,]", "a hyphen itself stands first or last"),
        ("[%-/]", "a hyphen itself stands first or last"),
        ("[A-z]", "a hyphen itself stands first or last"),
        ("[9-0]", "runs backwards"),
        ("[^ab]", "write not (… matches …)"),
        ("[!ab]", "write not (… matches …)"),
    ],
)
def test_a_choice_of_characters_that_is_none_or_means_something_else_is_refused(told, pattern, said):
    with pytest.raises(PatternError):
        matcher(pattern)
    assert said in told(rule(f"part.value matches '{pattern}'"))


@pytest.mark.rows(
    ("pattern", "holds", "fails"),
    [
        ("[a-]", "aA-", "b"),
        ("[-+0-9]", "-+5", "a"),
        ("[0-9-x]", "5-X", "y"),
        ("[.&|~^]", ".&|~^", "a"),
        ("[é-ü]", "éÊü", "e"),
    ],
)
def test_a_choice_of_characters_holds_of_each_that_is_written(pattern, holds, fails):
    test = matcher(pattern)
    assert all(map(test, holds))
    assert not any(map(test, fails))


@given(st.text(min_size=1, max_size=10), st.text(max_size=6))
def test_any_pattern_is_read_or_refused_and_never_raises_anything_else(pattern, text):
    with suppress(PatternError):
        matcher(pattern)(text)


KEYS = st.text(alphabet="aB-*", max_size=5).filter(bool)


@given(
    rows=st.lists(st.tuples(KEYS, KEYS), max_size=8),
    texts=st.tuples(*[st.text(alphabet="abB-", max_size=6)] * 2),
)
def test_the_rows_that_are_looked_at_are_all_that_fit(rows, texts):
    facts = ("part.part_number", "part.value")
    by_key = RowsByKey(facts)
    for number, keys in enumerate(rows):
        by_key.add(number, keys)
    fitting = [n for n, keys in enumerate(rows) if all(map(fits, keys, texts, facts))]
    found = by_key.that_may_fit(texts)
    assert found == sorted(found)
    assert set(fitting) <= set(found)


@pytest.mark.parametrize("form", ["[tables]\na = [\n{}]\n", "[tables]\na = {{ rows = [{}] }}\n", "{}", "csv"])
def test_a_table_of_limits_is_read_row_by_row_and_not_against_all_others(tmp_path, monkeypatch, form):
    compared, looked_for = [], []
    monkeypatch.setattr(definitions, "fits", lambda *keys: compared.append(keys) or fits(*keys))
    monkeypatch.setattr(definitions, "line_of", lambda *keys: looked_for.append(keys) or line_of(*keys))
    names = [f"P{n:03}x*" for n in range(300)]
    path = tmp_path / "own.toml"
    row, head = '{{ "part.part_number" = "{}", m = "1 mm" }},', form
    if form == "{}":
        row = '[[tables.a]]\n"part.part_number" = "{}"\nm = "1 mm"\n'
    elif form == "csv":
        (tmp_path / "a.csv").write_text("part.part_number,m\n" + "".join(f"{name},1 mm\n" for name in names))
        head = '[tables]\na = {{ file = "a.csv" }}\n'
    between = "\n" if form.startswith("[tables]\na = [") else ""
    path.write_text(
        head.format("".join(row.format(name) + between for name in names)) + rule("part.height <= tables.a.m")
    )
    (read,) = load_rules([path], FACTS)
    assert len(read.require.right.table.rows) == len(names)
    assert len(compared) + len(looked_for) < len(names) / 10


@given(st.text("ab-*", min_size=1, max_size=8), st.text("ab-", max_size=8))
def test_a_star_in_the_key_of_a_table_stands_for_anything(key, text):
    def reads(p: str, t: str) -> bool:
        if not p:
            return not t
        if p[0] == "*":
            return reads(p[1:], t) or (bool(t) and reads(p, t[1:]))
        return bool(t) and p[0] == t[0] and reads(p[1:], t[1:])

    assert fits(key, text, "part.value") is reads(key, text)


@pytest.mark.rows(
    ("text", "low", "high", "expected"),
    [
        ("part.pins in (8, 14)", 8, 8, True),
        ("part.pins in (8, 14)", 9, 13, False),
        ("part.pins in (8, 14)", 8, 9, None),
        ("part.pitch in ('0.5 mm', '25 mil')", 0.635, 0.635, True),  # by definition
        ("part.pitch in ('0.5 mm', '25 mil')", 0.6, 0.62, False),
        ("part.pins not in (8, 14)", 9, 9, True),
    ],
)
def test_a_number_is_one_of_a_list(text, low, high, expected):
    env = SimpleNamespace(get=lambda _name: Numbers.of([Interval(low, high)]))
    assert read_expression(text, FACTS, {}).evaluate(env).value(0) is expected


def test_two_texts_are_compared_where_both_are_known():
    facts = Catalogue()
    facts.text("part.one", "a text")(lambda: None)
    facts.text("part.other", "a text")(lambda: None)
    columns = {"part.one": Texts.of(["A", "a", "b", None, ""]), "part.other": Texts.of(["a", "c", None, "b", ""])}
    truth = read_expression("part.one == part.other", facts, {}).evaluate(SimpleNamespace(get=columns.__getitem__))
    assert [truth.value(n) for n in range(5)] == [True, False, None, None, None]


EXAMPLES = """
[[rule.example]]
facts = { "part.side" = "bottom", "part.height" = "3 mm" }
outcome = "pass"
[[rule.example]]
facts = { "part.side" = "bottom", "part.height" = "3.1 mm" }
outcome = "fail"
[[rule.example]]
facts = { "part.side" = "top", "part.height" = "9 mm" }
outcome = "pass"
[[rule.example]]
facts = { "part.height" = "9 mm" }
outcome = "undecided"
[[rule.example]]
facts = { "part.height" = "3 mm" }
outcome = "pass"
"""


def test_a_choice_counts_with_either_where_its_condition_is_open(tmp_path):
    path = tmp_path / "own.toml"
    path.write_text(rule("part.height <= ('3 mm' if part.side == 'bottom' else '9 mm')", more=EXAMPLES))
    rules = load_rules([path], FACTS)
    assert [r.actual for r in run_examples(rules, FACTS)] == [e.outcome for e in rules[0].entry.example]


PAIRS = """
[[rule.example]]
outcome = "not applicable"
[rule.example.facts]
"pair.gap" = "1 mm"
"pair.first.lead_style" = "ball grid"
"pair.second.height" = "1 mm"
[[rule.example]]
outcome = "pass"
[rule.example.facts]
"pair.gap" = "1 mm"
"pair.first.lead_style" = "ball grid"
"pair.second.lead_style" = "chip"
"pair.second.height" = "1 mm"
[[rule.example]]
outcome = "fail"
[rule.example.facts]
"pair.gap" = "1 mm"
"pair.first.lead_style" = "ball grid"
"pair.second.lead_style" = "chip"
"pair.second.height" = "1.1 mm"
[[rule.example]]
outcome = "fail"
[rule.example.facts]
"pair.gap" = "1 mm"
"pair.second.lead_style" = "ball grid"
"pair.first.lead_style" = "chip"
"pair.first.height" = "1.1 mm"
[[rule.example]]
outcome = "not applicable"
[rule.example.facts]
"pair.gap" = "1 mm"
"pair.second.lead_style" = "chip"
"pair.first.lead_style" = "chip"
"pair.first.height" = "1.1 mm"
"""


def test_a_rule_on_one_of_a_pair_is_asked_both_ways_round(tmp_path):
    path = tmp_path / "own.toml"
    text = rule(
        "pair.second.height <= limits.most",
        when="pair.first.lead_style == 'ball grid' and pair.gap < '3 mm'",
        subject="pair",
        more='limits = { most = "1 mm" }\n' + PAIRS,
    )
    path.write_text(text)
    rules = load_rules([path], FACTS)
    actual = [r.actual for r in run_examples(rules, FACTS)]
    # The lead style of the second is not known in the first example: it may be the grid.
    assert actual == ["undecided", "pass", "fail", "fail", "not applicable"]


DERIVED = """
[[fact]]
name = "part.area"
expression = "part.length * part.width"
help = "area of the body"
[[fact]]
name = "board.many"
expression = "count(part, where part.area > '4 mm**2')"
help = "parts of a large area"
"""
OF_MEMBERS = """
[[rule.example]]
members = { part = [{ "part.length" = "2 mm", "part.width" = "2.1 mm", times = 2 }, { "part.area" = "4 mm**2" }] }
outcome = "pass"
[[rule.example]]
members = { part = [{ "part.area" = "5 mm**2", times = 3 }] }
outcome = "fail"
[[rule.example]]
members = { part = [{ "part.length" = "2 mm", "part.width" = "2.1 mm", times = 2 }, {}] }
outcome = "undecided"
[[rule.example]]
facts = {}
outcome = "undecided"
"""


OF_EMPTY_MEMBERS = """
[[rule.example]]
facts   = { "part.height" = "3 mm", "part.length" = "2 mm", "part.width" = "2 mm" }
members = { part = [{}] }
outcome = "undecided"
[[rule.example]]
facts   = { "part.height" = "3 mm", "part.length" = "2 mm", "part.width" = "2 mm" }
members = { part = [] }
outcome = "pass"
[[rule.example]]
members = { part = [{ "part.area" = "5 mm**2" }, { "part.length" = "2 mm", "part.width" = "2.1 mm", times = 2 }] }
outcome = "fail"
"""


@pytest.mark.parametrize("of", ["part.height > '2 mm'", "part.area > '4 mm**2'"])
@pytest.mark.parametrize("subject", ["part", "board"])
def test_of_a_member_of_which_an_example_states_nothing_nothing_is_known(tmp_path, of, subject):
    """What the example states of the part that the rule is about is not said of the parts that are counted."""
    path = tmp_path / "own.toml"
    require = f"count(part, where {of}) <= {2 if 'area' in of else 0}"
    examples = OF_EMPTY_MEMBERS if "area" in of else OF_EMPTY_MEMBERS.rpartition("[[rule.example]]")[0]
    if "area" in of:
        examples = examples.replace("[{}]", "[{}, {}, {}]")
    path.write_text(DERIVED + rule(require, subject=subject, more=examples))
    rules = load_rules([path], FACTS)
    results = run_examples(rules, with_derived(FACTS, (r.derived for r in rules)))
    assert [r.actual for r in results] == [r.expected for r in results]


def test_a_fact_made_of_others_is_worked_out_in_examples_and_for_members(tmp_path):
    path = tmp_path / "own.toml"
    path.write_text(DERIVED + rule("board.many <= 2", subject="board", more=OF_MEMBERS))
    rules = load_rules([path], FACTS)
    catalogue = with_derived(FACTS, (r.derived for r in rules))
    results = run_examples(rules, catalogue)
    assert [r.actual for r in results] == [r.expected for r in results]
    assert "part.area" not in FACTS
    assert set(rules[0].facts) >= {"board.many", "part.area", "part.length"}
    assert faults_of(rules, results, catalogue) == []


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ('[[fact]]\nname = "part.height"\nexpression = "part.width"\nhelp = "help"\n', "there is a fact named"),
        ('[[fact]]\nname = "part.b"\nexpression = "part.value"\nhelp = "help"\n', "only a number, or true or false"),
        ('[[fact]]\nname = "part.b"\nexpression = "head.name == 1"\nhelp = "help"\n', "compared with texts"),
        ('[[fact]]\nname = "thing.b"\nexpression = "part.width"\nhelp = "help"\n', "begins with no scope"),
        ('[[fact]]\nname = "board.b"\nexpression = "part.width"\nhelp = "help"\n', "does not see part.width"),
        ('[[fact]]\nname = "pair.b"\nexpression = "pair.first.x - pair.second.x"\nhelp = "help"\n', "that is chance"),
        ('[[fact]]\nname = "part.b"\nhelp = "help"\n', 'the key "expression" is missing'),
        (
            "\n".join(f'[[fact]]\nname = "part.{a}"\nexpression = "part.{b}"\nhelp = "help"' for a, b in ("bc", "cx")),
            "made of those that stand above it",
        ),
        ('[constant]\na = "3 mm"\n', 'did you mean "constants"?'),
        ('[constants]\na-b = "3 mm"\n', "not a name that an expression can use"),
        ('[constants]\na = "3 furlong"\n', "not a unit"),
        ('[sets]\na = "b"\n', "is not a list of texts or numbers"),
        ("[tables]\na = 3\n", "is no table of limits"),
        ("tables = 3\n", "1 tables: [tables] is a table of names"),
        ('[sets]\na = ["b", nan]\n', "nan is not a number that anything can be held to"),
        ('[tables]\na = [{ "part.value" = ["x"], m = "2 mm" }]\n', "['x'] is no text"),
        (
            '[[fact]]\nname = "area"\nexpression = "part.width"\nhelp = "help"\n',
            '"area" is not written so; name is: scope',
        ),
        ('[tables]\na = [{ "part.package_family" = "soci", m = "2 mm" }]\n', 'did you mean "soic"?'),
        ('[tables]\na = [{ "part.package_family" = "zzz*", m = "2 mm" }]\n', "fits no value of"),
        ('[tables]\na = [{ "part.height" = "1", m = "2 mm" }]\n', "a table is looked up by texts"),
        ('[tables]\na = [{ "part.hight" = "1", m = "2 mm" }]\n', 'did you mean "part.height"?'),
        ('[tables]\na = [{ m = "2 mm" }]\n', "looks nothing up"),
        ('[tables]\na = [{ "part.value" = "x" }]\n', "has no limits"),
        ('[tables]\na = [{ "part.value" = "x", m = "2 mm" },\n { "part.value" = "y", m = "2 g" }]\n', "state a length"),
        ('[tables]\na = [{ "part.value" = "*", m = "2 mm" },\n { "part.value" = "y", m = "3 mm" }]\n', "never reached"),
        ('[tables]\na = [{ "part.value" = "Y", m = "2 mm" },\n { "part.value" = "y", m = "3 mm" }]\n', "never reached"),
        ('[tables]\na = [{ "part.value" = "Y", m = "2 mm" },\n { "part.value" = "y", n = "3 mm" }]\n', "other columns"),
        ('[tables]\na = { file = "no.csv" }\n', "there is no file"),
        ('[tables]\na = { file = "../no.csv" }\n', "outside the rule file's folder"),
    ],
)
def test_a_mistake_in_what_a_file_shares_is_told_with_its_line(told, text, said):
    assert said in told(text + "\n" + rule("part.located"))


def test_mistakes_in_facts_made_of_others_are_told_with_line_reason_and_cure(told):
    def facts(*made: tuple[str, str]) -> str:
        entries = (f'[[fact]]\nname = "part.{n}"\nexpression = "{text}"\nhelp = "help"\n' for n, text in made)
        return told("".join(entries) + rule("part.located"))

    assert facts(("height", "part.width")) == (
        '3 part.height.expression: there is a fact named "part.height" already; choose another name'
    )
    assert facts(("b", "part.width * 3 furlong")).endswith(
        "invalid syntax; quantities stand in quotes, like '2 mm', or among the limits"
    )
    assert facts(("b", "part.width + '3 furlong'")).endswith(
        '"furlong" is not a unit that capcheck knows; write one that it does, such as mm, mil, g, deg, s or N'
    )
    assert facts(("b", "part.width + part.mass")).endswith(
        "adds a length (part.width) and a mass (part.mass); only what is of one dimension can be added"
    )
    assert facts(("b", "part.width * part.width - '5 mm²'")).endswith('a power is written **; write "5 mm**2"')
    assert facts(("b", "part.width * part.width - '5 mm^2'")).endswith('a power is written **; write "5 mm**2"')
    assert not facts(("b", "part.width * part.width - '5 mm**2'"))
    assert facts(("b", "part.b * 2")) == (
        "3 part.b.expression: part.b is made of itself, so it has no value; make it of other facts"
    )
    of_each_other = "these facts are made of each other, so none has a value: part.b of part.c of part.d of part.b;"
    assert facts(("b", "part.c"), ("c", "part.d"), ("d", "part.b")).startswith(f"3 part.b.expression: {of_each_other}")
    assert facts(("bb", "part.c + part.width"), ("b", "part.width"), ("c", "part.b")) == (
        "3 part.bb.expression: part.c is made below; a fact is made of those that stand above it: "
        "move part.bb below part.c"
    )


def test_rules_in_single_brackets_are_told_with_their_line(told):
    assert told(rule("part.located").replace("[[rule]]", "[rule]")).startswith("2 rule: rules are tables")


@pytest.mark.parametrize(
    "name",
    # invented: names as they are read, of no device
    [
        "SOIC-8",  # invented
        "soic8",  # invented
        "SOT-23",  # invented
        "SOIC-8 narrow",  # invented
        "LQFP-64 10x10",  # invented
        "chip 1608M",  # invented
        "relay",
        "LED",
        "SOT-6",  # invented
        "SSOP-8 2.8 mm",  # invented
        "SOD-523 or SC-80 (SODFL1608)",  # invented
        "LGA",
    ],  # invented
)
def test_a_name_of_a_package_that_is_read_is_no_slip(told, name):
    assert told(rule(f"part.family != '{name}'")) == ""


@pytest.mark.parametrize(
    "text",
    [
        "part.family starts with 'TQ'",
        "part.family starts with 'TQFP-1'",  # invented
        "part.family != ''",
        "part.family matches 'U*'",
    ],
)
def test_beginnings_patterns_and_a_blank_are_no_slips(told, text):
    assert told(rule(text)) == ""


OWN_FAMILIES = """
[tables]
cover = [
  {{ "part.family" = "{key}", most = "3 mm" }},
  {{ "part.family" = "TQFP", most = "2 mm" }},
]
"""
"""A table by families of which one is of the shop's own library."""


@pytest.mark.parametrize(
    ("key", "said"),
    [
        ("TQPF-100", 'did you mean "TQFP-100"?'),  # invented
        ("Umbra box", "for a name that a library of yours gives, write Umbra box*"),  # invented
        ("Umbra box*", ""),  # invented
    ],
)
def test_a_table_names_families_that_tables_give_or_says_that_they_are_the_shop_s(told, key, said):
    text = OWN_FAMILIES.format(key=key) + rule("part.height <= tables.cover.most")
    assert said in told(text)
    assert (told(text) == "") is (said == "")


@pytest.mark.parametrize(
    ("require", "family", "actual"),
    [
        ("not part.family matches 'Umbra box'", "Umbra box", "fail"),  # invented
        ("not part.family == 'TQFP-100'", "Umbra box", "error"),  # invented
        ("not part.family == 'TQFP-100'", "tqfp100", "fail"),  # invented
        ("not part.family matches 'Umbra box'", "Umbra bx", "error"),  # invented
    ],
)
def test_an_example_states_a_family_of_the_shop_s_where_its_rule_names_it(tmp_path, require, family, actual):
    path = tmp_path / "own.toml"
    example = f'[[rule.example]]\nfacts = {{ "part.family" = "{family}" }}\noutcome = "fail"\n'
    path.write_text(rule(require, more=example))
    (result,) = run_examples(load_rules([path], FACTS), FACTS)
    assert result.actual.split(":")[0] == actual


def test_a_symmetric_fact_of_pairs_may_name_both_members(told):
    text = '[[fact]]\nname = "pair.taller"\nexpression = "max(pair.first.height, pair.second.height)"\nhelp = "help"\n'
    assert told(text + rule("pair.taller < '3 mm'", subject="pair")) == ""


TABLE = """\
board.customer;part.package_family;most;least
# the narrower row first
Acme;chip*;1 mm;
*;chip resistor;2 mm;0.1 mm
;soic;3 mm;
"""


@pytest.mark.parametrize(
    ("customer", "family", "bounds"),
    [
        ("acme", "chip resistor", (1, 1)),
        ("Other", "chip resistor", (2, 2)),
        (None, "chip resistor", (1, 2)),
        (None, "soic", (3, 3)),
        ("Acme", "qfp", (-np.inf, np.inf)),
        ("Acme", None, (-np.inf, np.inf)),
    ],
)
def test_the_first_row_that_fits_counts_and_each_that_may_fit_where_a_text_is_open(tmp_path, customer, family, bounds):
    (tmp_path / "cover.csv").write_text(TABLE)
    path = tmp_path / "own.toml"
    path.write_text('[tables]\ncover = { file = "cover.csv" }\n' + rule("part.height <= tables.cover.most"))
    (read,) = load_rules([path], FACTS)
    columns = {"board.customer": Texts.of([customer]), "part.package_family": Texts.of([family])}
    found = read.require.right.evaluate(SimpleNamespace(get=columns.__getitem__))
    assert (found.low[0], found.high[0]) == bounds


@pytest.mark.parametrize(
    ("row", "said"),
    [
        ("*;qfp;1,2 mm;", 'cover.csv:6: most: "1,2 mm"'),
        ("*;sioc;1 mm;", 'cover.csv:6: "sioc" is never a value'),
        ("*;soic;1 mm", "cover.csv:6: has 3 cells, the titles are 4"),
        ("*;qfp;nan;", 'cover.csv:6: most: "nan"'),
        ("*;soic;1 mm;", "cover.csv:6: is never reached: the row on"),
    ],
)
def test_a_mistake_in_a_table_is_told_with_its_row(tmp_path, row, said):
    (tmp_path / "cover.csv").write_text(TABLE + row + "\n")
    path = tmp_path / "own.toml"
    path.write_text('[tables]\ncover = { file = "cover.csv" }\n' + rule("part.height <= tables.cover.most"))
    with pytest.raises(InputError) as caught:
        load_rules([path], FACTS)
    assert said in str(caught.value)
    assert len(caught.value.problems) == 1


@pytest.mark.parametrize(
    ("titles", "said"),
    [
        ("part.package_family,most,most", 'cover.csv:1: two columns have the title "most"'),
        ("part.package_family,part.package_family,most", "cover.csv:1: two columns have the title"),
        ("part.package_family,,most", "cover.csv:1: column 2 has no title"),
        ("part.package_family,Most,most", 'cover.csv:1: "Most" is not a name'),
    ],
)
def test_titles_of_a_table_tell_its_columns_apart(tmp_path, titles, said):
    """Of two columns of one title the last would count and the first be lost."""
    (tmp_path / "cover.csv").write_text(f"{titles}\nsoic,1 mm,9 mm\n")
    path = tmp_path / "own.toml"
    path.write_text('[tables]\ncover = { file = "cover.csv" }\n' + rule("part.height <= tables.cover.most"))
    with pytest.raises(InputError) as caught:
        load_rules([path], FACTS)
    assert said in str(caught.value)


def test_a_step_of_a_constant_and_of_a_column_must_be_noticed(tmp_path):
    path = tmp_path / "own.toml"
    path.write_text(SHARED + rule("part.height <= constants.tall and part.height <= tables.cover.most"))
    rules = load_rules([path], FACTS)
    faults = "\n".join(faults_of(rules, run_examples(rules, FACTS), FACTS))
    assert "notices when constants.tall is raised by 1 mm" in faults
    assert "notices when tables.cover.most is lowered by 1 mm" in faults


@pytest.mark.parametrize(
    ("members", "said"),
    [
        ("{ prat = [{}] }", 'did you mean "part"?'),
        ('{ part = [{ "part.height" = "3 g" }] }', "part.height is a length"),
        ('{ part = [{ "part.side" = "tpo" }] }', 'did you mean "top"?'),
        ("{ part = [{ times = 0 }] }", "how many members are alike"),
    ],
)
def test_a_mistake_in_the_members_of_an_example_is_told(tmp_path, members, said):
    path = tmp_path / "own.toml"
    more = f'[[rule.example]]\nmembers = {members}\noutcome = "pass"'
    path.write_text(rule("count(part) > 1", subject="board", more=more))
    (result,) = run_examples(load_rules([path], FACTS), FACTS)
    assert said in result.actual
