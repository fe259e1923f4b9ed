"""Checked by mypy with the package: the public names have types, so that a caller's mistakes are found before a run."""

from pathlib import Path
from typing import assert_type

import capcheck

report = capcheck.check("board", line=Path("a.line.toml"), strict=True)
assert_type(report, capcheck.Report)
assert_type(report.to_json(), str)
assert_type(report.exit_code, capcheck.ExitCode)
for finding in report.findings:
    assert_type(finding, capcheck.Finding)
    assert_type(finding.rule, str)

board = capcheck.read_board("board")
assert_type(board, capcheck.Board)
line = capcheck.read_line("a.line.toml")
assert_type(line, capcheck.Line)
rules = capcheck.load_rules([Path("rules/board.toml")], capcheck.FACTS)
assert_type(rules, list[capcheck.Rule])
assert_type(capcheck.check_board(board, line, rules), capcheck.Report)

capcheck.check(3)  # type: ignore[arg-type]
capcheck.read_machine(machine="a")  # type: ignore[call-arg]
