"""Errors of TOML files name file, line and key.

Figures: invented; sums worked by hand.
"""

from typing import Literal

import pytest
from pydantic import BaseModel, ConfigDict, Field

from capcheck.shop.costs import Costs
from capcheck.values.errors import InputError, Place, Problem, nearest
from capcheck.values.toml import line_of, load_toml, validate


class Head(BaseModel):
    model_config = ConfigDict(extra="forbid")

    reach: float = Field(1.0, gt=0, alias="reach_mm", description="how far the head gets")
    tools: dict[Literal["wide", "narrow"], int] = Field(default_factory=dict, description="tools by their width")


class Machine(BaseModel):
    model_config = ConfigDict(extra="forbid")

    heads: list[Head] = Field(default_factory=list, description="the heads, from the left")
    home: Head | None = Field(None, description="the head used first")
    maker: str = Field(description="who built it")


INLINE = """\
maker = "a"
heads = [
  { reach_mm = 1 },  # { in a remark
  { reach_mm = -1, tools = { wide = 1 } },
  { reech_mm = 2 }, { reach_mm = 3, tools = { broad = 1 } },
]
home = { reach_mm = "far" }
"""


TEXT = """\
name = "a"
[board]
max_length = "1 mm"
[[head]]
name = "x"
[[head]]
name = "y"
max_hight = "3 mm"
"""


@pytest.mark.rows(
    ("path", "line"),
    [
        (("name",), 1),
        (("board", "max_length"), 3),
        (("board", "missing"), 2),
        (("head", 0, "name"), 5),
        (("head", 1, "max_hight"), 8),
        (("head", 1, "missing"), 6),
        (("nothing",), None),
    ],
)
def test_a_key_is_found_on_its_line(path, line):
    assert line_of(TEXT, path) == line


def test_a_syntax_error_names_its_line(tmp_path):
    file = tmp_path / "a.toml"
    file.write_text('name = "a"\nlength = 3 mm\n')
    with pytest.raises(InputError) as caught:
        load_toml(file, "profile")
    (problem,) = caught.value.problems
    assert (problem.where.file, problem.where.row) == (str(file), 2)
    assert "TOML" in problem.what


@pytest.mark.parametrize("content", [None, b"\xff\xfe\x00"])
def test_a_missing_or_binary_file_is_a_clear_error(tmp_path, content):
    file = tmp_path / "a.toml"
    if content is not None:
        file.write_bytes(content)
    with pytest.raises(InputError, match=r"a\.toml"):
        load_toml(file, "profile")


def test_a_problem_reads_where_what_why_and_what_to_do():
    problem = Problem(
        Place("bom.csv", 14, "height"), '"1,6 mm" is not a length', "a comma may be decimal", "set decimal"
    )
    assert str(problem) == 'bom.csv:14 height: "1,6 mm" is not a length (a comma may be decimal); set decimal'


def test_the_nearest_name_is_suggested():
    assert nearest("max_hight", ["max_height", "name"]) == 'did you mean "max_height"?'
    assert nearest("zzz", ["max_height"]) == ""


def problems_of_machine(text, tmp_path):
    file = tmp_path / "a.toml"
    file.write_text(text)
    with pytest.raises(InputError) as caught:
        validate(Machine, *load_toml(file, "machine")[:1], str(file), text)
    return {problem.where.column: problem for problem in caught.value.problems}


def test_a_fault_in_an_inline_table_is_found_on_its_line(tmp_path):
    found = problems_of_machine(INLINE, tmp_path)
    assert {key: problem.where.row for key, problem in found.items()} == {
        "heads[2].reach_mm": 4,
        "heads[3].reech_mm": 5,
        "heads[4].tools.broad": 5,
        "home.reach_mm": 7,
    }
    assert found["heads[3].reech_mm"].remedy == 'did you mean "reach_mm"?'


def test_a_wrong_value_or_key_is_told_what_the_field_is(tmp_path):
    found = problems_of_machine(INLINE, tmp_path)
    assert found["heads[2].reach_mm"].remedy == "reach_mm is: how far the head gets"
    assert found["heads[4].tools.broad"].remedy == "tools is: tools by their width"


def test_a_missing_key_is_told_what_it_is(tmp_path):
    found = problems_of_machine("", tmp_path)
    assert found["maker"].remedy == "add it; maker is: who built it"


def test_a_key_of_a_table_below_another_is_found_in_its_own():
    text = '[[rule]]\nid = "a"\n[[rule.example]]\nfacts = 1\n[[rule.example]]\nfacts = 2\n'
    text += '[[rule]]\nid = "b"\n[rule.limits]\nmost = 1\n[[rule.example]]\nfacts = 3\n'
    places = {(0, 0): 4, (0, 1): 6, (1, 0): 12}
    for (rule, example), line in places.items():
        assert line_of(text, ("rule", rule, "example", example, "facts")) == line
        assert line_of(text, ("rule", rule, "example", example, "missing")) == line - 1
    assert line_of(text, ("rule", 1, "limits", "most")) == 10
    assert line_of(text, ("rule", 0, "limits", "most")) == 1


class Files(BaseModel):
    names: bool | list[str] = Field(True, description="the files, or false for none")
    kinds: bool | dict[str, Literal["wide", "narrow"]] = Field(True, description="what each file shows")


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ('[kinds]\na = "broad"\nbool = "wide"', ['2 kinds.a: "broad" is none of: wide, narrow']),
        ("kinds = 3", ["1 kinds: 3 is neither true nor false, nor a table of keys"]),
        ("names = [1]", ["1 names[1]: 1 is not a text; texts stand in quotes"]),
        ('names = "a"', ['1 names: "a" is neither true nor false, nor a list, such as ["a", "b"]']),
    ],
)
def test_what_may_be_true_or_a_table_is_told_of_as_what_it_is(tmp_path, text, told):
    (tmp_path / "a.toml").write_text(text)
    with pytest.raises(InputError) as error:
        validate(Files, load_toml(tmp_path / "a.toml", "a.toml")[0], "a.toml", text)
    assert [f"{p.where.row} {p.where.column}: {p.what}" for p in error.value.problems] == told


@pytest.mark.parametrize(
    ("stated", "told"),
    [
        ({"batch": 0}, "costs.batch: 0 is less than 1"),
        ({"operators": [3, -1]}, "costs.operators[2]: -1 is less than 0"),
        ({"machine_hour": "x"}, 'costs.machine_hour: "x" is no number'),
        ({"good": 1.2}, "costs.good: 1.2 is more than 1"),
    ],
)
def test_a_figure_that_may_be_two_ends_is_told_once_as_what_stands_there(stated, told):
    with pytest.raises(InputError) as caught:
        validate(Costs, stated, "c.toml", "", ("costs",))
    (problem,) = caught.value.problems
    assert told in str(problem)
