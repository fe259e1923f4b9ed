"""Errors of TOML files name file, line and key."""

import pytest

from capcheck.border import line_of, load_toml
from capcheck.errors import InputError, Problem, Where, nearest

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


@pytest.mark.parametrize(
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
        Where("bom.csv", 14, "height"), '"1,6 mm" is not a length', "a comma may be decimal", "set decimal"
    )
    assert str(problem) == 'bom.csv:14 height: "1,6 mm" is not a length (a comma may be decimal); set decimal'


def test_the_nearest_name_is_suggested():
    assert nearest("max_hight", ["max_height", "name"]) == 'did you mean "max_height"?'
    assert nearest("zzz", ["max_height"]) == ""
