"""Rules that are Python functions: what they ask for, and what is said where they are wrong.

Figures: facts and limits are invented; those of the rules that ship have their basis in rules/*.toml.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from hypothesis import given, strategies as st

from capcheck import FACTS, Numbers, Truths, all_of, any_of, at_least, at_most, check
from capcheck.cli import main
from capcheck.engine.collect import load_rules, rule_files
from capcheck.engine.examples import faults_of, run_examples
from capcheck.engine.nodes import And, FlagFact, Or
from capcheck.shop.settings import Choice
from capcheck.values.errors import InputError

if TYPE_CHECKING:
    from pathlib import Path

RULE = """
from capcheck import at_most, example, rule


@rule(
    id="low-parts-only",
    title="The part fits under the cover",
    subject="part",
    when="part.mounting == 'surface'",
    outcome="warn",
    message="{part.ref}: {part.height} tall, the cover leaves {limits.most}",
    why="The cover presses on tall parts.",
    remedy="Choose a lower part.",
    basis="drawing of the cover",
    limits={"most": "12 mm"},
    takes={"part_height": "length", "limits_most": "length"},
    tags=["shop"],
    examples=[
        example({"part.mounting": "surface", "part.height": "12 mm"}, "pass"),
        example({"part.mounting": "surface", "part.height": "12.5 mm"}, "warn"),
        example({"part.mounting": "surface", "part.height": ["11 mm", "13 mm"]}, "undecided"),
    ],
)
def low_parts_only(part_height, limits_most):
    return at_most(part_height, limits_most)
"""


@pytest.fixture
def file(tmp_path: Path) -> Path:
    path = tmp_path / "cover.rules.py"
    path.write_text(RULE)
    return path


def test_a_function_is_a_rule_like_any_other(file: Path) -> None:
    assert rule_files([file.parent]) == [file]
    (rule,) = load_rules([file], FACTS)
    assert rule.facts == ("part.mounting", "part.height")
    assert rule.limits["most"].value == 12
    assert (rule.outcome, rule.tags, rule.subject.name) == ("warn", ("shop",), "part")
    assert [r.passed for r in run_examples([rule], FACTS)] == [True, True, True]


def test_its_limits_can_be_changed_and_its_examples_notice_a_step(file: Path) -> None:
    (rule,) = load_rules([file], FACTS, {"low-parts-only": {"most": "0.5 in"}})
    assert rule.limits["most"].value == pytest.approx(12.7)
    assert [r.actual for r in run_examples([rule], FACTS)] == ["pass", "pass", "undecided"]  # 12.5 mm fits now
    (plain,) = load_rules([file], FACTS)
    assert faults_of([plain], run_examples([plain], FACTS), FACTS) == []
    file.write_text(RULE.replace('"12.5 mm"', '"20 mm"').replace('["11 mm", "13 mm"]', '["0 mm", "20 mm"]'))
    (loose,) = load_rules([file], FACTS)
    assert "most is 13 mm" in faults_of([loose], run_examples([loose], FACTS), FACTS)[0]


def test_rules_explain_and_test_show_it(
    file: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("XDG_STATE_HOME", str(file.parent / "state"))
    folder = ["--rules", str(file.parent), "--no-config"]
    assert main(["rules", *folder]) == 2
    assert f"capcheck trust {file}" in capsys.readouterr().err
    assert main(["trust", str(file)]) == 0
    capsys.readouterr()
    assert main(["rules", *folder]) == 0
    assert "low-parts-only" in capsys.readouterr().out
    assert main(["explain", "low-parts-only", *folder]) == 0
    out = capsys.readouterr().out
    assert "low_parts_only(part.height, limits.most)" in out
    assert f"from {file}:5" in out


def test_a_board_is_checked_by_it(file: Path, make_board: Any) -> None:
    board = make_board(["R1,1,1,0,top,10k,R0402"], toml='size_codes = "inch"\n')  # reference/size_codes.csv
    choice = Choice(folders=[file], select=["low-parts-only"])
    assert check(board, choice=choice).totals.passed == 1


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("(part_height, limits_most)", "(part_hight, limits_most)", 'no fact "part.hight"; did you mean "part.height"'),
        ("(part_height, limits_most)", "(part_height, limits_least)", 'no limit "least"'),
        ("(part_height, limits_most)", "(head_max_part_height, limits_most)", 'declares "part_height", which'),
        ("part_height", "head_max_part_height", "does not see head.max_part_height"),
        ('"part_height": "length"', '"part_height": "mass"', "declared as a mass, part.height is a length"),
        ('"part_height": "length"', '"part_height": "lenght"', 'no dimension; did you mean "length"?'),
        ('"part_height": "length", ', "", "does not declare it (a function gets bare numbers, which nobody can check)"),
        ('"12 mm"},\n    takes', '"12 g"},\n    takes', "limits_most is declared as a length, limits.most is a mass"),
        ('subject="part"', 'subject="prt"', '"prt" is not a subject'),
        ('"12 mm"}, "pass"', '"12 mm"}, "passes"', "example[1].outcome"),
        ('id="low-parts-only"', 'id="Low Parts"', "id"),
        ('tags=["shop"]', 'tags="shop"', "is not a list, such as"),
        ('limits={"most": "12 mm"}', 'limits=["12 mm"]', "is no table of keys"),
        ('takes={"part_height": "length", "limits_most": "length"}', 'takes=["length"]', "takes names dimensions by"),
        ("at_most, example", "at_most, exmple", "ImportError"),
        ("return at_most(", "return at_most((", "SyntaxError"),
    ],
)
def test_faults_are_told_with_file_and_line(file: Path, old: str, new: str, said: str) -> None:
    assert old in RULE
    file.write_text(RULE.replace(old, new))
    with pytest.raises(InputError) as caught:
        load_rules([file], FACTS)
    assert said in str(caught.value)
    assert str(caught.value).startswith(f"{file}:")


@pytest.mark.parametrize("body", ["True", "part_height.low <= 12", "1 / 0", "None", "exit(0)"])
def test_a_function_that_raises_or_returns_no_truths_fails_its_examples_and_ends_a_check_with_2(
    file: Path, make_board: Any, body: str
) -> None:
    file.write_text(RULE.replace("at_most(part_height, limits_most)", body))
    (rule,) = load_rules([file], FACTS)
    assert all(r.actual.startswith("error: ") for r in run_examples([rule], FACTS))
    report = check(make_board(["R1,1,1,0,top,10k,PART-1"]), choice=Choice(folders=[file]))
    assert [name for name, _ in report.answers.broken_rules] == ["low-parts-only"]
    assert report.exit_code == 2


ends = st.floats(-5, 5).map(lambda x: round(x, 1))
intervals = st.tuples(ends, ends).map(sorted)


@given(intervals, intervals)
def test_comparisons_of_columns_are_proved_or_disproved_only_if_every_value_agrees(
    a: list[float], b: list[float]
) -> None:
    left, right = (Numbers(np.array([x[0]]), np.array([x[1]])) for x in (a, b))
    for truth, holds in ((at_most(left, right), lambda x, y: x <= y), (at_least(left, right), lambda x, y: x >= y)):
        corners = [holds(x, y) for x in a for y in b]
        assert truth.value(0) is (True if all(corners) else None if any(corners) else False)


@given(st.lists(st.sampled_from([True, False, None]), min_size=1, max_size=4))
def test_all_of_and_any_of_are_the_logic_of_expressions(values: list[bool | None]) -> None:
    columns = {f"f{i}": Truths.of([v]) for i, v in enumerate(values)}

    class Env:
        def get(self, name: str) -> Truths:
            return columns[name]

    nodes = tuple(FlagFact(name, name) for name in columns)
    assert all_of(*columns.values()).value(0) is And("", nodes).evaluate(Env()).value(0)
    assert any_of(*columns.values()).value(0) is Or("", nodes).evaluate(Env()).value(0)


def test_of_two_functions_of_one_name_the_first_is_not_lost_unseen(file: Path) -> None:
    file.write_text(RULE + RULE.replace("low-parts-only", "also-low"))
    with pytest.raises(InputError, match="another low_parts_only stands below") as told:
        load_rules([file], FACTS)
    assert str(told.value).startswith(f"{file}:5")


@pytest.mark.parametrize(
    ("returned", "said"),
    [
        (
            "at_most(part_height, limits_most) and at_most(part_height, limits_most)",
            "joined by all_of(…) and any_of(…)",
        ),
        ("not at_most(part_height, limits_most)", "joined by all_of(…) and any_of(…)"),
        ("part_height <= limits_most", "compared by at_most(a, b)"),
        ("12 > part_height", "compared by at_most(a, b)"),
        ("True", "what at_most(…), at_least(…)"),
    ],
)
def test_what_python_would_read_otherwise_is_an_error_with_its_cure(file: Path, returned: str, said: str) -> None:
    """*and* between two columns would drop the first, and the rule would pass without it."""
    file.write_text(RULE.replace("at_most(part_height, limits_most)", returned))
    rules = load_rules([file], FACTS)
    assert all(said in result.actual for result in run_examples(rules, FACTS))
