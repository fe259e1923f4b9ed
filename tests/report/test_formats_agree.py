"""Exit code and every format tell the same counts, whatever the run: failing, waived, strict, against a baseline."""

from __future__ import annotations

import json
import re
import xml.etree.ElementTree as ET
from collections import Counter
from pathlib import Path

import pytest

from capcheck.cli import main

FIXTURES = Path(__file__).parents[2] / "fixtures"
BOARD = str(FIXTURES / "irrigation-controller")
FORMATS = ("text", "json", "lines", "sarif", "junit", "github")
LAST_LINE = re.compile(
    r"(PASS|WARN|FAIL): (\d+) fail, (\d+) warn \((\d+) of them undecided\), (\d+) pass(?:, (\d+) waived)?"
)
WAIVER = '[[waiver]]\nrule = "{}"\nreason = "seen"\nwho = "A. Reviewer"\nuntil = {}\n'

Told = dict[str, object]


def of_count_line(text: str) -> Told:
    match = LAST_LINE.search(text)
    assert match is not None, text
    numbers = [int(n or 0) for n in match.groups()[1:]]
    return {
        "verdict": match[1].lower(),
        **dict(zip(("fail", "warn", "undecided", "pass", "waived"), numbers, strict=True)),
    }


def of_text(text: str) -> Told:
    return of_count_line(text.splitlines()[-1])


def of_json(text: str) -> Told:
    data = json.loads(text)
    counts = data["counts"]
    counted = [f for f in data["findings"] if not f["waived"]]
    if not counts["known"]:
        assert counts["fail"] == sum(f["outcome"] == "fail" for f in counted)
        assert counts["warn"] == sum(f["outcome"] == "warn" for f in counted)
    else:
        assert counts["known"] == sum(f["baseline"] == "unchanged" for f in counted)
    counts.pop("known")
    return {"verdict": data["verdict"], **counts}


def of_lines(text: str) -> Told:
    *lines, last = text.splitlines()
    words = Counter(line.split(": ", 1)[1].split()[0] for line in lines)
    told = of_count_line(last)
    assert (words["fail"], words["undecided"], words["waived"]) == (told["fail"], told["undecided"], told["waived"])
    assert words["warn"] + words["undecided"] == told["warn"]
    return told


def of_sarif(text: str) -> Told:
    (run,) = json.loads(text)["runs"]
    counts = run["properties"]["counts"]
    live = [r for r in run["results"] if not r.get("suppressions")]
    assert counts["fail"] == sum(r["level"] == "error" for r in live)
    assert counts["warn"] == sum(r["level"] == "warning" for r in live)
    assert counts["undecided"] == sum(r["properties"]["undecided"] for r in live)
    assert counts["waived"] == len(run["results"]) - len(live)
    counts.pop("known")
    return {"verdict": run["properties"]["verdict"], **counts, "exit": run["invocations"][0]["exitCode"]}


def of_junit(text: str) -> Told:
    suite = ET.fromstring(text).find("testsuite")  # noqa: S314  our own text
    assert suite is not None
    told: Told = {p.attrib["name"]: p.attrib["value"] for p in suite.iter("property")}
    told = {k: v if k == "verdict" else int(str(v)) for k, v in told.items()}
    cases = suite.findall("testcase")
    assert int(suite.attrib["tests"]) == len(cases)
    failures = [c for c in cases if c.find("failure") is not None]
    assert int(suite.attrib["failures"]) == len(failures)
    waived = [c for c in cases if (s := c.find("skipped")) is not None and s.attrib["message"].startswith("waived")]
    assert told["waived"] == len(waived)
    quiet = [c for c in cases if c.find("system-out") is not None]
    assert len(failures) + len(quiet) == int(str(told["fail"])) + int(str(told["warn"]))
    told.pop("known")
    return told | {"exit": 1 if failures else 0}


def of_github(text: str) -> Told:
    *lines, last = text.splitlines()
    words = Counter(line.split()[0] for line in lines)
    told = of_count_line(last)
    assert (words["::error"], words["::warning"], words["::notice"]) == (told["fail"], told["warn"], told["waived"])
    return told


TOLD = dict(zip(FORMATS, (of_text, of_json, of_lines, of_sarif, of_junit, of_github), strict=True))


@pytest.mark.parametrize(
    ("line", "configuration", "arguments", "code"),
    [
        ("mixed", "", [], 0),
        ("mixed", "", ["--strict"], 1),
        ("chip", "", [], 1),
        ("chip", WAIVER.format("part-*", "9999-01-01"), [], 1),
        ("chip", WAIVER.format("*", "9999-01-01"), ["--strict"], 0),
        ("chip", WAIVER.format("*", "2000-01-01"), [], 1),
        ("chip", "", ["--baseline"], 1),
        ("chip", "", ["--baseline", "--new-only"], 0),
        (None, "", [], 0),
    ],
)
def test_exit_code_and_every_format_tell_the_same_counts(
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    line: str | None,
    configuration: str,
    arguments: list[str],
    code: int,
) -> None:
    config = tmp_path / "capcheck.toml"
    config.write_text(configuration)
    base = ["check", BOARD, "--config", str(config)]
    base += ["--line", str(FIXTURES / "lines" / f"{line}.line.toml")] if line else []
    if "--baseline" in arguments:
        old = tmp_path / "old.json"
        main([*base, "--format", "json", "--output", str(old)])
        arguments = ["--baseline", str(old), *arguments[1:]]
    told = {}
    for name in FORMATS:
        assert main([*base, *arguments, "--format", name]) == code, name
        told[name] = TOLD[name](capsys.readouterr().out)
    for name, counts in told.items():
        assert counts.pop("exit", code) == code, name
        assert counts == told["json"], name
