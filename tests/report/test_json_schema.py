from __future__ import annotations

import copy
import json
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from capcheck import check
from capcheck.cli import main
from capcheck.report.formats import json as json_format
from capcheck.report.json_schema import report_schema

FIXTURES = Path(__file__).parents[2] / "fixtures"
BOARDS = ("irrigation-controller", "light-strip", "flow-sensor")


@pytest.fixture(scope="module")
def validator() -> Any:
    jsonschema.Draft202012Validator.check_schema(report_schema())
    return jsonschema.Draft202012Validator(report_schema())


def data(board: str, **arguments: Any) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(json_format.render(check(FIXTURES / board, **arguments)))
    return found


@pytest.mark.rows("board", BOARDS)
@pytest.mark.rows("line", ["chip", "full", None])
def test_reports_are_valid_by_the_schema(validator: Any, board: str, line: str | None) -> None:
    validator.validate(data(board, line=FIXTURES / "lines" / f"{line}.line.toml" if line else None))


def test_a_report_with_waivers_and_a_baseline_is_valid(validator: Any, tmp_path: Path) -> None:
    config, old = tmp_path / "capcheck.toml", tmp_path / "old.json"
    config.write_text('[[waiver]]\nrule = "part-*"\nreason = "seen"\nwho = "A"\nuntil = 9999-01-01\n')
    full = FIXTURES / "lines" / "full.line.toml"
    old.write_text(json.dumps(data(BOARDS[0], line=full)))
    found = data(BOARDS[0], line=FIXTURES / "lines" / "chip.line.toml", config=config, baseline=old, new_only=True)
    validator.validate(found)
    assert found["gone"]
    assert {f["baseline"] for f in found["findings"]} >= {"new", "unchanged"}


@pytest.mark.rows(
    ("path", "value"),
    [
        (("verdict",), "maybe"),
        (("counts", "fail"), -1),
        (("counts", "failed"), 1),
        (("board", "length_mm"), [1]),
        (("findings", 0, "undecided"), "no"),
        (("findings", 0, "row"), 0),
        (("parts", 0, "outcome"), "undecided"),
        (("parts", 0, "body_mm", "height"), None),
        (("schema",), "capcheck-report/2"),
    ],
)
def test_the_schema_notices_what_is_wrong(validator: Any, path: tuple[str | int, ...], value: object) -> None:
    wrong = copy.deepcopy(data(BOARDS[0]))
    place: Any = wrong
    for key in path[:-1]:
        place = place[key]
    place[path[-1]] = value
    with pytest.raises(jsonschema.ValidationError):
        validator.validate(wrong)


def test_the_command_prints_it(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["schema", "report"]) == 0
    assert json.loads(capsys.readouterr().out) == report_schema()
    assert main(["schema", "configuration"]) == 0
    assert "waiver" in json.loads(capsys.readouterr().out)["properties"]
