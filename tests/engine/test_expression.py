"""Expressions are data: read, checked by name and dimension, never run.

Figures: facts and limits are invented; those of the rules that ship have their basis in rules/*.toml.
"""

import contextlib
import sys

import pytest
from hypothesis import given, strategies as st

from capcheck.engine.expression import ExpressionError, Limit, read_expression
from capcheck.engine.nodes import facts_of
from capcheck.facts import FACTS
from capcheck.values.units import LENGTH

LIMITS = {"most": Limit(3.0, LENGTH)}


@pytest.mark.rows(
    "text",
    [
        "part.height <= head.max_part_height",
        "part.height <= limits.most",
        "part.height <= '3 mm' and part.width <= '0.1 inch'",
        "part.length * part.width <= '20 mm**2'",
        "part.length / part.width <= 3",
        "part.mass / (part.length * part.width) <= '30 g/in**2'",
        "'X-ray' in line.inspection",
        "part.lead_style in ('ball grid', 'land grid')",
        "not part.hidden_joints or is_known(part.pitch)",
        "'1 mm' <= part.height <= '2 mm'",
        "abs(part.length - part.width) < '0.1 mm'",
        "part.height\n  <= max(limits.most, '1 mm')",
    ],
)
def test_a_sentence_about_facts_is_read(text):
    assert facts_of(read_expression(text, FACTS, LIMITS))


@pytest.mark.rows(
    ("text", "said"),
    [
        ("part.hight <= '3 mm'", 'no fact "part.hight"; did you mean "part.height"?'),
        ("part.height <= limits.mots", 'did you mean "most"?'),
        ("part.height <= '3 g'", "compares a length (part.height) with a mass ('3 g')"),
        ("part.height <= 3", "with a number (3)"),
        ("part.height + part.mass <= '3 mm'", "adds a length (part.height) and a mass (part.mass)"),
        ("part.height - '3 g' <= '3 mm'", "takes a length (part.height) from a mass"),
        ("max(part.height, part.mass) <= '3 mm'", "compares a length"),
        ("part.mounting == 'surfce'", 'did you mean "surface"?'),
        ("part.mounting <= 'surface'", "stands where a number is expected"),
        ("part.height", "is not true or false"),
        ("part.height and part.located", "stands where true or false is expected"),
        ("part.height <=", "is not an expression"),
        ("height <= '3 mm'", "facts are written scope.name"),
        ("part.height.real <= '3 mm'", "not allowed"),
        ("part.height ** 2 <= '3 mm**2'", "not allowed"),
        ("part.height % 2 == 0", "not allowed"),
        ("__import__('os').system('true')", "not allowed"),
        ("(lambda: part.located)()", "not allowed"),
        ("[part.located for x in y]", "not allowed"),
        ("part.located if part.height else part.located", "stands where true or false is expected"),
        ("'1 mm' if part.located else part.located", "chooses between a length"),
        ("min() <= '3 mm'", "at least two numbers"),
        ("abs(part.height, part.width) <= '3 mm'", "abs takes one number"),
        ("is_known('3 mm')", "asks about one fact"),
        ("is_known(part.height, part.width)", "asks about one fact"),
        ("part.height in ('a', 'b')", "cannot be one of some texts"),
        ("'a' in part.mounting", 'after "in" comes'),
        ("part.height is '3 mm'", "not allowed"),
        ("part.height <= True", "not allowed"),
        ("part.height <= '3 furlong'", "not a unit"),
        ("part.height / 0 <= '3 mm'", "divides by zero"),
        ("part.height <= 3 mm", "quantities stand in quotes"),
        ("part.height <= (3", "was never closed"),
        ("part.height / '0 mm' <= 3", "divides by zero"),
        ("part.ref == 3", "compared with texts in quotes"),
        ("\0", "NUL character"),
        ("not " * 60 + "part.located", "nested"),
        ("(" * 900 + "part.located" + ")" * 900, "ested"),
        ("part.located and " * 200 + "part.located", "at most 2000 characters"),
    ],
)
def test_what_is_not_allowed_or_does_not_fit_says_so(text, said):
    with pytest.raises(ExpressionError) as caught:
        read_expression(text, FACTS, LIMITS)
    assert said in str(caught.value)


pieces = st.lists(
    st.sampled_from(
        [
            "part.height",
            "part.located",
            "limits.most",
            "'3 mm'",
            "3",
            "(",
            ")",
            "<=",
            "==",
            "in",
            "not",
            "and",
            "or",
            "+",
            "-",
            "*",
            "/",
            "**",
            "min",
            "max",
            "is_known",
            ",",
            "'",
            "lambda",
            ":",
            "[",
            "]",
            "{",
            "}",
            "\\",
            "é",
            "\n",
            "__class__",
            ".",
            "if",
            "else",
            "for",
            "@",
            ":=",
            "f''",
            "b''",
            "0x",
            "1e999",
            "\0",
            "await",
            "yield",
            "count",
            "sum",
            "any",
            "(part, where",
            "where",
            "of side",
            "starts with",
            "matches",
            "contains",
            "part.value",
            "'a*[b'",
            "pair.first.height",
            "part.column('A')",
            "sets.a",
            "tables.a.b",
            "values.a",
            "constants.a",
        ]
    ),
    max_size=40,
).map(" ".join)


@given(st.one_of(pieces, st.text(max_size=200)))
def test_no_text_does_anything_but_be_read_or_refused(text):
    modules, depth = set(sys.modules), sys.getrecursionlimit()
    with contextlib.suppress(ExpressionError):
        read_expression(text, FACTS, LIMITS)
    assert set(sys.modules) == modules
    assert sys.getrecursionlimit() == depth


@pytest.mark.rows("number", ["9" * 400, "1e999", "'1e300 mm'", "-1e31", "'" + "9" * 400 + " mm'"])
def test_a_number_beyond_all_measure_is_refused_in_words(number):
    with pytest.raises(ExpressionError, match="too large"):
        read_expression(f"part.height < {number} * '1 mm'", FACTS, {})


def test_a_slip_of_the_pen_warns_nobody_on_standard_error(recwarn):
    with pytest.raises(ExpressionError):
        read_expression("part.pins > 1and part.pins <", FACTS, {})
    assert not recwarn.list
