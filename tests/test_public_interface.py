"""What ``import capcheck`` gives, and what it costs."""

import json
import math
import pydoc
import subprocess
import sys
from html import escape
from pathlib import Path

import pytest

import capcheck
from capcheck.lexicon import cautions

HERE = Path(__file__).resolve().parent


@pytest.mark.rows("name", capcheck.__all__)
def test_every_public_name_is_there_and_described(name):
    value = getattr(capcheck, name)
    assert value is not None
    assert value.__doc__


@pytest.mark.rows("name", capcheck.__all__)
def test_help_is_given_on_every_public_name(name):
    assert getattr(capcheck, name).__doc__.split("\n")[0][:20] in pydoc.plain(pydoc.render_doc(getattr(capcheck, name)))


@pytest.fixture(scope="module")
def report():
    board, line = HERE.parent / "fixtures/irrigation-controller", HERE.parent / "fixtures/lines/chip.line.toml"
    return capcheck.check(board, line=line)


def test_a_report_writes_itself_as_the_command_does(report, run):
    board, line = HERE.parent / "fixtures/irrigation-controller", HERE.parent / "fixtures/lines/chip.line.toml"
    for form, text in (("json", report.to_json()), ("svg", report.to_svg()), ("html", report.to_html())):
        assert run("check", board, "--line", line, "--format", form)[1] == text
    assert report.counts == json.loads(report.to_json())["counts"]
    assert report.verdict == json.loads(report.to_json())["verdict"]


def test_a_report_is_short_when_printed_and_a_notebook_shows_findings_and_cautions(report):
    assert repr(report).startswith("<Report Irrigation controller on Line 2, chips: FAIL: ")
    assert "\n" not in repr(report)
    assert len(repr(report)) < 160
    page = report._repr_html_()
    assert "<td>fail</td>" in page
    assert escape(cautions()) in page


@pytest.mark.parametrize("rows", ["parts", "findings", "rules"])
def test_columns_hold_what_the_rows_of_the_json_hold(report, rows):
    data, frame = json.loads(report.to_json())[rows], report.frame(rows)
    assert {len(column) for column in frame.values()} == {len(data)}
    for name, column in frame.items():
        for row, cell in zip(data, column.tolist(), strict=True):
            key, *path = name.split(".")
            value = row.get(key)
            for step in path:
                ends = {"low": 0, "high": 1}
                value = None if value is None else value[ends[step]] if isinstance(value, list) else value.get(step)
            known = None if isinstance(cell, float) and math.isnan(cell) else cell
            assert known == (tuple(value) if isinstance(value, list) else value), (name, row)


def test_columns_are_there_where_there_are_no_rows():
    board = capcheck.read_board(HERE.parent / "fixtures/flow-sensor")
    rules = [rule for rule in capcheck.rules_that_ship() if rule.id == "part-height"]
    frame = capcheck.check_board(board, None, rules).frame("findings")
    assert frame["rule"].tolist() == []
    with pytest.raises(ValueError, match="findings"):
        capcheck.check_board(board, None, rules).frame("finding")


def test_an_unknown_name_is_an_attribute_error():
    with pytest.raises(AttributeError, match="No capcheck attribute chekc"):
        _ = capcheck.chekc


def test_importing_the_package_loads_nothing_heavy():
    code = (
        "import sys, capcheck\n"
        "heavy = {'numpy', 'pydantic', 'pint', 'rich', 'shapely', 'ezdxf', 'argparse'} & set(sys.modules)\n"
        "sys.exit(str(heavy) if heavy else 0)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr


@pytest.mark.parametrize("changed", ["fiducial-cuont.least", "fiducial-count.leats"])
def test_a_limit_that_is_not_there_is_told_by_the_name_of_the_argument(changed):
    with pytest.raises(capcheck.InputError, match=f"^limits {changed}"):
        capcheck.check(HERE.parent / "fixtures/irrigation-controller", limits={changed: 2})
