from __future__ import annotations

import json
from pathlib import Path
from typing import Any
from urllib.parse import unquote

import jsonschema
import pytest

from capcheck import check
from capcheck.report.formats.sarif import render

FIXTURES = Path(__file__).parents[3] / "fixtures"
SCHEMA = Path(__file__).parents[2] / "reference" / "sarif-2.1.0-rtm.5.json"
"""The published JSON schema of SARIF 2.1.0 (OASIS), byte for byte as the npm package @microsoft/jest-sarif
1.0.0-beta.0 (MIT) carries it in lib/schemas."""


def document(**arguments: Any) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(
        render(check(FIXTURES / "irrigation-controller", line=FIXTURES / "lines" / "chip.line.toml", **arguments))
    )
    return found


@pytest.fixture(scope="module")
def plain() -> dict[str, Any]:
    return document()


@pytest.fixture(scope="module")
def validator() -> Any:
    return jsonschema.Draft4Validator(json.loads(SCHEMA.read_text()))


def test_the_document_is_valid_by_the_published_schema(plain: dict[str, Any], validator: Any, tmp_path: Path) -> None:
    validator.validate(plain)
    config = tmp_path / "capcheck.toml"
    config.write_text('[[waiver]]\nrule = "part-*"\nreason = "seen"\nwho = "A"\nuntil = 9999-01-01\n')
    old = tmp_path / "old.json"
    from capcheck.report.formats import json as json_format

    old.write_text(json_format.render(check(FIXTURES / "irrigation-controller")))
    marked = document(config=config, baseline=old)
    validator.validate(marked)
    results = marked["runs"][0]["results"]
    assert {r["baselineState"] for r in results} == {"new", "unchanged"}
    suppressed = [r for r in results if "suppressions" in r]
    assert suppressed
    assert all(r["ruleId"].startswith("part-") for r in suppressed)
    assert suppressed[0]["suppressions"] == [
        {"kind": "external", "status": "accepted", "justification": "seen (A, until 9999-01-01)"}
    ]


def test_the_schema_of_the_test_notices_a_wrong_document(plain: dict[str, Any], validator: Any) -> None:
    wrong = json.loads(json.dumps(plain))
    wrong["runs"][0]["results"][0]["level"] = "undecided"
    with pytest.raises(jsonschema.ValidationError):
        validator.validate(wrong)


def test_every_result_points_at_its_rule_and_rows_are_line_numbers(plain: dict[str, Any]) -> None:
    (run,) = plain["runs"]
    rules = run["tool"]["driver"]["rules"]
    assert all(rules[r["ruleIndex"]]["id"] == r["ruleId"] for r in run["results"])
    report = check(FIXTURES / "irrigation-controller", line=FIXTURES / "lines" / "chip.line.toml")
    for finding, result in zip(report.findings, run["results"], strict=True):
        if finding.place is not None and finding.place.row:
            region = result["locations"][0]["physicalLocation"]["region"]
            assert region == {"startLine": finding.place.row}


@pytest.mark.rows("line", ["chip", "mixed", None])
@pytest.mark.rows("board", ["irrigation-controller", "light-strip", "flow-sensor"])
def test_every_result_has_a_file_that_was_read_and_a_row_of_it(board: str, line: str | None) -> None:
    report = check(FIXTURES / board, line=FIXTURES / "lines" / f"{line}.line.toml" if line else None)
    read = {Path(file.path).name for file in report.inputs}
    for result in json.loads(render(report))["runs"][0]["results"]:
        place = result["locations"][0]["physicalLocation"]
        assert Path(unquote(place["artifactLocation"]["uri"])).name in read
        assert place["region"]["startLine"] >= 1


def test_what_is_about_the_line_points_at_its_file() -> None:
    mixed = check(FIXTURES / "irrigation-controller", line=FIXTURES / "lines" / "mixed.line.toml")
    results = json.loads(render(mixed))["runs"][0]["results"]
    (found,) = [r for r in results if r["ruleId"] == "x-ray-for-hidden-joints"]
    assert found["locations"][0]["physicalLocation"]["artifactLocation"]["uri"].endswith("mixed.line.toml")


def test_every_rule_of_the_file_has_help_that_says_what_it_asks_and_why(plain: dict[str, Any]) -> None:
    rules = {rule["id"]: rule for rule in plain["runs"][0]["tool"]["driver"]["rules"]}
    help_text = rules["part-height"]["help"]["markdown"]
    for piece in ("part.height", "Why: ", "What to do: ", "Basis: "):
        assert piece in help_text
    assert all(rule["help"]["text"] for rule in rules.values())


def test_fingerprints_are_unique_and_do_not_depend_on_the_row(plain: dict[str, Any], make_board: Any) -> None:
    prints = [r["partialFingerprints"]["ruleMachineReference/v1"] for r in plain["runs"][0]["results"]]
    assert len(set(prints)) == len(prints)
    rows = ["U1,10,10,0,top,X,UNHEARD-OF", "U2,20,10,0,top,Y,UNHEARD-OF"]

    def of(listed: list[str]) -> dict[str, str]:
        report = check(make_board(listed), line=FIXTURES / "lines" / "chip.line.toml")
        results = json.loads(render(report))["runs"][0]["results"]
        return {
            f"{r['ruleId']} {r['locations'][0]['logicalLocations'][0]['fullyQualifiedName']}": r["partialFingerprints"][
                "ruleMachineReference/v1"
            ]
            for r in results
        }

    assert of(rows) == of(rows[::-1])


def test_a_path_with_a_space_is_a_valid_uri(make_board: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)  # what lies below it is named from there
    folder = make_board(["U1,10,10,0,top,X,UNHEARD-OF"])
    spaced = folder.rename(tmp_path / "my board")
    text = render(check(spaced, line=FIXTURES / "lines" / "chip.line.toml"))
    assert "my%20board/placements.csv" in text
