"""Rules and limits given to ``check`` itself.

Figures: boards, parts and limits are invented.
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest

import capcheck

KEYS = {
    "id": "low-parts",
    "title": "The part fits under the cover",
    "subject": "part",
    "require": "part.height <= limits.most",
    "message": "{part.ref} is {part.height} tall",
    "why": "w",
    "remedy": "r",
    "basis": "b",
    "limits": {"most": "3 mm"},
}


@capcheck.rule(
    **{key: KEYS[key] for key in ("title", "subject", "message", "why", "remedy", "basis", "limits")},
    id="low-parts-too",
    takes={"part_height": "length", "limits_most": "length"},
)
def low(part_height, limits_most):
    return capcheck.at_most(part_height, limits_most)


@pytest.fixture
def board(make_board):
    bom = ["Refs,Part number,Length [mm],Width [mm],Height [mm]", "U1,P-1,5,5,4"]
    return make_board(["U1,10,10,0,top,,"], bom=bom, toml='units = "mm"\n')


def found(report):
    return {(f.rule, f.message) for f in report.findings if f.rule.startswith("low-parts")}


def test_rules_made_in_code_are_answered_beside_those_that_ship(board):
    report = capcheck.check(board, rules=[KEYS, low])
    assert found(report) == {("low-parts", "U1 is 4 mm tall"), ("low-parts-too", "U1 is 4 mm tall")}
    assert len(report.answers.rules) > 100


def test_limits_of_a_run_hold_for_rules_in_code_and_in_files(board, tmp_path):
    path = tmp_path / "own.toml"
    text = "\n".join(f'{k} = "{v}"' for k, v in KEYS.items() if isinstance(v, str)).replace(
        "low-parts", "low-parts-file"
    )
    path.write_text(f'[[rule]]\n{text}\nlimits = {{ most = "3 mm" }}\n')
    limits = {"low-parts.most": "4 mm", "low-parts-file.most": "5 mm", "fiducial-count.least": 3}
    report = capcheck.check(board, rules=[KEYS, path], limits=limits)
    assert found(report) == set()
    assert found(capcheck.check(board, rules=[KEYS, path])) == {
        ("low-parts", "U1 is 4 mm tall"),
        ("low-parts-file", "U1 is 4 mm tall"),
    }


@pytest.mark.parametrize(
    ("rules", "limits", "said"),
    [
        (
            [{**KEYS, "require": "part.hight <= limits.most"}],
            {},
            'rules[1]:1 low-parts.require: there is no fact "part.hight"',
        ),
        ([{**KEYS, "why": 3}], {}, "rules[1]:1 why: 3 is not a text"),
        ([{**KEYS, "requre": "x"}], {}, 'rules[1]:1 requre: the key "requre" is not known; did you mean "require"?'),
        ([{"id": "low-parts"}], {}, 'the key "require" is missing; add it; require is: what must hold'),
        ([{**KEYS, "outcome": "error"}], {}, '"error" is none of: fail, warn'),
        ([{**KEYS, "limits": {"most": [1]}}], {}, "rules[1]:1 limits.most: [1] is neither a text nor a number"),
        ([KEYS, 3], {}, "rules[2]: 3 is no rule; give a file, a function under rule(…), or the keys of a rule"),
        ([KEYS, KEYS], {}, 'the id "low-parts" is taken by rules[1]:1'),
        ([{**KEYS, "id": "gap"}], {}, 'the id "gap" is taken by'),
        ([], {"least": 3}, 'write "fiducial-count.least"'),
        ([], {"fiducial-cout.least": 3}, 'did you mean "fiducial-count"?'),
        ([KEYS], {"low-parts.most": "3 g"}, "the limit is a length"),
    ],
)
def test_what_is_wrong_with_them_is_told(board, rules, limits, said):
    with pytest.raises(capcheck.InputError) as caught:
        capcheck.check(board, rules=rules, limits=limits)
    assert said in str(caught.value)


def test_the_lines_of_the_readme_work(capsys):
    root = Path(__file__).parents[2]
    blocks = re.findall(r"(?s)```python\n(.*?)```", (root / "README.md").read_text(encoding="utf-8"))
    for block in blocks:
        exec(block.replace('"fixtures/', f'"{root}/fixtures/'), {})  # noqa: S102  our own lines
    assert "warn low-parts J1 J1 is 14.2 mm tall" in capsys.readouterr().out
