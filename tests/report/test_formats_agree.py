"""Exit code and every format tell the same counts, whatever the run: failing, waived, strict, against a baseline.

Formats are found, not listed: for each there is a function here, named after it, that reads what it tells.

Figures: invented, those of fixtures/ and of what the test writes.
"""

from __future__ import annotations

import csv
import io
import json
import re
import xml.etree.ElementTree as ET
from collections import Counter
from collections.abc import Callable, Iterable
from pathlib import Path

import pytest
from depth import sample_of
from python_calamine import CalamineWorkbook

from capcheck import check
from capcheck.cli import main
from capcheck.lexicon import customers_catalogue
from capcheck.report import format_names, formats, load_format
from capcheck.report.questions import questions

ROOT = Path(__file__).parents[2]
FIXTURES = ROOT / "fixtures"
BOARD = str(FIXTURES / "irrigation-controller")
LAST_LINE = re.compile(
    r"(PASS|WARN|FAIL): (\d+) fail, (\d+) warn \((\d+) of them undecided\), (\d+) pass"
    r"(?:, (\d+) waiting)?(?:, (\d+) waived)?"
)
WAIVER = '[[waiver]]\nrule = "{}"\nreason = "seen"\nwho = "A. Reviewer"\nuntil = {}\n'

Told = dict[str, object]
"""What a format tells, of the keys that :func:`told_by_json` gives; ``exit`` is the exit code that follows from it."""


def of_count_line(text: str) -> Told:
    match = LAST_LINE.search(text)
    assert match is not None, text
    numbers = [int(n or 0) for n in match.groups()[1:]]
    return {
        "verdict": match[1].lower(),
        **dict(zip(("fail", "warn", "undecided", "pass", "waiting", "waived"), numbers, strict=True)),
    }


def outcomes(rows: Iterable[dict[str, str]]) -> Told:
    return {"outcomes of parts": Counter((row["ref"], row["outcome"]) for row in rows)}


def told_by_text(data: bytes) -> Told:
    return of_count_line(data.decode().splitlines()[-1])


def told_by_json(data: bytes) -> Told:
    report = json.loads(data)
    counts = report["counts"]
    live = [f for f in report["findings"] if not f["waived"]]
    if not counts["known"]:
        assert counts["fail"] == sum(f["outcome"] == "fail" for f in live)
        assert counts["warn"] == sum(f["outcome"] == "warn" for f in live)
    else:
        assert counts["known"] == sum(f["baseline"] == "unchanged" for f in live)
        live = [f for f in live if f["baseline"] != "unchanged"]
    counts.pop("known")
    assert counts["waiting"] == len(report["waiting"])
    assert all(f["undecided"] and not f["waived"] and "waits_for" in f for f in report["waiting"])
    assert not any("waits_for" in f for f in report["findings"])
    fails = [f for f in live if f["outcome"] == "fail"]
    return {
        "verdict": report["verdict"],
        **counts,
        **outcomes(report["parts"]),
        "rules that fail": {f["rule"] for f in fails},
        "parts that fail": {f["subject"]["ref"] for f in fails if "part" in f["subject"]["kind"].split()},
    }


def told_by_lines(data: bytes) -> Told:
    *lines, last = data.decode().splitlines()
    words = Counter(line.split(": ", 1)[1].split()[0] for line in lines)
    told = of_count_line(last)
    assert (words["fail"], words["undecided"], words["waived"]) == (told["fail"], told["undecided"], told["waived"])
    assert words["warn"] + words["undecided"] == told["warn"]
    return told


def told_by_sarif(data: bytes) -> Told:
    (run,) = json.loads(data)["runs"]
    counts = run["properties"]["counts"]
    live = [r for r in run["results"] if not r.get("suppressions")]
    waiting = [r for r in live if "waits_for" in r["properties"]]
    assert counts["waiting"] == len(waiting) == sum(r["level"] == "note" for r in live)
    assert all(r["properties"]["undecided"] for r in waiting)
    assert counts["waived"] == len(run["results"]) - len(live)
    live = [r for r in live if r not in waiting]
    assert counts["fail"] == sum(r["level"] == "error" for r in live)
    assert counts["warn"] == sum(r["level"] == "warning" for r in live)
    assert counts["undecided"] == sum(r["properties"]["undecided"] for r in live)
    counts.pop("known")
    return {"verdict": run["properties"]["verdict"], **counts, "exit": run["invocations"][0]["exitCode"]}


def told_by_junit(data: bytes) -> Told:
    suite = ET.fromstring(data).find("testsuite")  # noqa: S314  our own text
    assert suite is not None
    told: Told = {p.attrib["name"]: p.attrib["value"] for p in suite.iter("property")}
    told.pop("cautions")
    told = {k: v if k == "verdict" else int(str(v)) for k, v in told.items()}
    cases = suite.findall("testcase")
    assert int(suite.attrib["tests"]) == len(cases)
    failures = [c for c in cases if c.find("failure") is not None]
    assert int(suite.attrib["failures"]) == len(failures)
    waived = [c for c in cases if (s := c.find("skipped")) is not None and s.attrib["message"].startswith("waived")]
    assert told["waived"] == len(waived)
    waiting = [c for c in cases if (s := c.find("skipped")) is not None and "; waits for " in s.attrib["message"]]
    assert told["waiting"] == len(waiting)
    undecided = [c for c in cases if (s := c.find("skipped")) is not None and s.attrib["message"][:10] == "undecided:"]
    assert len(undecided) in {told["undecided"], 0}  # with --strict they are failures
    quiet = [*undecided, *(c for c in cases if c.find("system-out") is not None)]
    assert len(failures) + len(quiet) == int(str(told["fail"])) + int(str(told["warn"]))
    told.pop("known")
    return told | {"exit": 1 if failures else 0}


def told_by_github(data: bytes) -> Told:
    *lines, last = data.decode().splitlines()
    commands = [line for line in lines if line.startswith("::")]
    words = Counter(line.split()[0] for line in commands)
    assert all(number <= 10 for number in words.values())  # so many are shown of a level
    for line in commands:
        if rest := re.search(r"::(\d+) more ", line):
            words[line.split()[0]] += int(rest[1]) - 1
    told = of_count_line(last)
    assert (words["::error"], words["::warning"], words["::notice"]) == (told["fail"], told["warn"], told["waived"])
    assert len(lines) - len(commands) == sum(int(n) for n in re.findall(r"(?m)::(\d+) more ", data.decode()))
    return told


def told_by_markdown(data: bytes) -> Told:
    lines = data.decode().splitlines()
    names = [cell.strip().removeprefix("of them ") for cell in lines[6].strip("|").split("|")]
    counts = dict(zip(names, (cell.strip() for cell in lines[8].strip("|").split("|")), strict=True))
    told: Told = {name: int(counts[name]) for name in ("fail", "warn", "undecided", "waiting", "pass", "waived")}
    return told | {"verdict": lines[0].split()[1].strip(":").lower()}


def told_by_html(data: bytes) -> Told:
    numbers = dict(re.findall(r'id="count-(\w+)">(\d+)', data.decode()))
    undecided = re.search(r"(\d+) of them undecided", data.decode())
    assert undecided is not None
    return {"waiting": 0} | {name: int(number) for name, number in numbers.items()} | {"undecided": int(undecided[1])}


def told_by_csv(data: bytes) -> Told:
    return outcomes(csv.DictReader(io.StringIO(data.decode())))


def told_by_xlsx(data: bytes) -> Told:
    book = CalamineWorkbook.from_filelike(io.BytesIO(data))
    head, *rows = book.get_sheet_by_name("parts").to_python()
    about = {str(row[0]).removeprefix("of them "): row[1] for row in book.get_sheet_by_name("report").to_python()}
    counts: Told = {
        name: int(str(about[name]).removesuffix(".0")) for name in ("fail", "warn", "undecided", "waiting", "pass")
    }
    told = outcomes({str(k): str(v) for k, v in zip(head, row, strict=True)} for row in rows)
    return told | counts | {"verdict": about["verdict"]}


def of_questions(rows: Iterable[tuple[str, str]]) -> Told:
    """Return which questions are put in which group, by their keys; a part of a question has a colon in its own."""
    return {"questions": {(group, key) for group, key in rows if ":" not in key}}


def told_by_questions(data: bytes) -> Told:
    group, rows = "", []
    for line in data.decode().splitlines():
        group = line.removeprefix("## ") if line.startswith("## ") else group
        if line[:1].isdigit():
            rows.append((group, line.rpartition(" `")[2].partition("/")[0]))
    return of_questions(rows)


def told_by_mail(data: bytes) -> Told:
    group, rows = "", []
    for line in data.decode().splitlines():
        group = line if line.isupper() and line[:1] != " " else group
        if line.startswith("   [") and line.endswith("]"):
            rows.append((group.capitalize(), line[4:-1].partition("/")[0]))
    return of_questions(rows)


def told_by_questions_csv(data: bytes) -> Told:
    return of_questions((row["group"], row["key"]) for row in csv.DictReader(io.StringIO(data.decode())))


def told_by_questions_xlsx(data: bytes) -> Told:
    book = CalamineWorkbook.from_filelike(io.BytesIO(data))
    found = []
    for name in {"board", "parts"} & set(book.sheet_names):
        head, *rows = book.get_sheet_by_name(name).to_python()
        found += [(str(row[head.index("group")]), str(row[head.index("key")])) for row in rows]
    return of_questions(found)


def told_by_svg(data: bytes) -> Told:
    titles = re.findall(r"<g [^>]*><title>([^<]*)</title><rect class=\"\w+ marked fail", data.decode())
    return {"parts that fail": {title.split(" · ")[0] for title in titles}}


def reader_of(name: str) -> Callable[[bytes], Told]:
    reader: Callable[[bytes], Told] = globals()[f"told_by_{name.replace('-', '_')}"]
    return reader


@pytest.mark.parametrize(
    ("line", "configuration", "arguments", "code"),
    sample_of(
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
        3,
    ),
)
def test_exit_code_and_every_format_tell_the_same_counts(
    tmp_path: Path, line: str | None, configuration: str, arguments: list[str], code: int
) -> None:
    config, old, new = tmp_path / "capcheck.toml", tmp_path / "old.json", tmp_path / "new.json"
    config.write_text(configuration)
    base = ["check", BOARD, "--config", str(config), "--format", "json"]
    base += ["--line", str(FIXTURES / "lines" / f"{line}.line.toml")] if line else []
    if "--baseline" in arguments:
        main([*base, "--output", str(old)])
        arguments = ["--baseline", str(old), *arguments[1:]]
    assert main([*base, *arguments, "--output", str(new)]) == code
    report = check(
        BOARD,
        line=FIXTURES / "lines" / f"{line}.line.toml" if line else None,
        config=config,
        strict="--strict" in arguments,
        baseline=old if "--baseline" in arguments else None,
        new_only="--new-only" in arguments,
    )
    assert report.exit_code == code
    paper = customers_catalogue().paper
    asked = {(paper[f"group {q.group}"], q.key) for q in questions(report)}
    expected = told_by_json(new.read_bytes()) | {"questions": asked}
    for name in format_names():
        content = load_format(name).render(report)
        told = reader_of(name)(content.encode() if isinstance(content, str) else content)
        assert told.pop("exit", code) == code, name
        assert told, f"{name} tells nothing"
        assert told == {key: expected[key] for key in told}, name


@pytest.mark.rows("name", format_names())
def test_every_format_has_a_line_of_help_and_a_place_in_the_readme(name: str) -> None:
    assert load_format(name).HELP
    assert "\n" not in load_format(name).HELP
    table = re.findall(r"(?m)^\| `.*", (ROOT / "README.md").read_text(encoding="utf-8"))
    assert any(f"`{name}`" in row for row in table)


def test_a_format_is_added_by_one_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "for_a_pager.py").write_text(
        'HELP = "one word"\n\n\ndef render(report):\n    return report.verdict.upper()\n'
    )
    monkeypatch.setattr(formats, "__path__", [*formats.__path__, str(tmp_path)])
    assert "for-a-pager" in format_names()
    assert main(["check", BOARD, "--format", "for-a-pager"]) == 0
    assert capsys.readouterr().out == "WARN"


def test_a_format_that_is_broken_is_an_error_only_where_it_is_asked_for(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "torn.py").write_text("import there_is_no_such_module\n")
    monkeypatch.setattr(formats, "__path__", [*formats.__path__, str(tmp_path)])
    assert main(["check", BOARD, "--format", "json"]) == 0
    capsys.readouterr()
    assert main(["check", BOARD, "--format", "torn"]) == 2
    assert "there_is_no_such_module" in capsys.readouterr().err
