"""``boards``: every board of a repository that the changed files are about, for a hook: short, what fails last."""

from __future__ import annotations

import argparse
import os
import shlex
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Final

from msgspec import Struct

from capcheck.commands.command import Command, Once, add_config, add_rules, add_store, settings_of, warn_of_not_obeyed
from capcheck.commands.output import deliver_text
from capcheck.values import InputError

if TYPE_CHECKING:
    from capcheck.checking import Report
    from capcheck.machines import Line
    from capcheck.shop import Settings

BOARD_FILE: Final = "board.toml"
_MOST_LINES: Final = 10
_OF_BOTH: Final = (
    "line",
    "rules",
    "limit",
    "select",
    "ignore",
    "config",
    "no_config",
    "store",
    "customer",
    "strict",
)
"""The options that mean here what they mean to ``check``."""


class _Result(Struct, frozen=True):
    """What comes out for one board: the exit code, and its lines."""

    code: int
    lines: Sequence[str]


def _arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "changed", nargs="*", type=Path, metavar="FILE", help="changed files; default: every board is checked"
    )
    parser.add_argument(
        "--under",
        action="append",
        type=Path,
        metavar="FOLDER",
        help="where boards are looked for: folders with a board.toml; default: here",
    )
    parser.add_argument("--line", action=Once, metavar="FILE", help="line file, or a name of the configuration")
    add_rules(parser)
    add_config(parser)
    add_store(parser)
    parser.add_argument("--strict", action="store_true", help="warnings and undecided rules fail too")
    parser.add_argument("--quiet", action="store_true", help="print only boards that fail or could not be checked")


def boards_under(folder: Path) -> Iterator[Path]:
    """Yield the folders with a board.toml, in a fixed order; hidden folders and links to folders are passed over."""
    for here, below, files in os.walk(folder):
        below[:] = sorted(name for name in below if not name.startswith("."))
        if BOARD_FILE in files:
            yield Path(here)


def _run(arguments: argparse.Namespace) -> int:
    found = [folder for top in arguments.under or [Path()] for folder in boards_under(top)]
    if not found:
        where = ", ".join(map(str, arguments.under or ["."]))
        raise InputError.at(where, "holds no board", "a board is a folder with a board.toml", "see: capcheck init")
    results = [result for folder in found if (result := _result(folder, arguments)) is not None]
    for result in sorted(results, key=lambda result: result.code):
        if result.code or not arguments.quiet:
            deliver_text("".join(f"{line}\n" for line in result.lines))
    if not results and not arguments.quiet:
        deliver_text(f"none of {len(found)} boards is concerned\n")
    return max((result.code for result in results), default=0)


def _result(folder: Path, arguments: argparse.Namespace) -> _Result | None:
    """Return what comes out for a board, or nothing where no changed file is about it."""
    from capcheck.checking import check_as_settled, devices_of
    from capcheck.shop import Configuration, configuration_of

    try:
        named = [str(folder / BOARD_FILE)]
        configuration = Configuration() if arguments.no_config else configuration_of(named, arguments.config)
        settings = settings_of(arguments, configuration, named[0])
        line = devices_of(settings)
        if arguments.changed and not _is_concerned(folder, settings, line, arguments.changed):
            return None
        warn_of_not_obeyed(configuration)
        return _told(folder, check_as_settled(settings, line), _alone(folder, arguments))
    except InputError as error:
        return _Result(2, [f"{folder}: could not be checked", *str(error).splitlines()])


def _is_concerned(folder: Path, settings: Settings, line: Line | None, changed: Sequence[Path]) -> bool:
    """Whether a changed file lies in the board's folder or is one that its check depends on.

    A board that lies in another one's folder is not a part of that.
    """
    shop = [path for path, _ in settings.files()]
    shop += [Path(file.path) for file in (line.inputs if line is not None else ())]
    known, top = {path.resolve() for path in shop}, folder.resolve()
    return any(file in known or _board_of(file) == top for file in (path.resolve() for path in changed))


def _board_of(file: Path) -> Path | None:
    return next((above for above in file.parents if (above / BOARD_FILE).is_file()), None)


def _alone(folder: Path, arguments: argparse.Namespace) -> str:
    """Return the command that checks this board alone by the same options, to be pasted into a shell."""
    words = ["capcheck", "check", str(folder)]
    for name in _OF_BOTH:
        value, option = getattr(arguments, name, None), f"--{name.replace('_', '-')}"
        if value is True:
            words.append(option)
        elif value:
            words += [word for each in (value if isinstance(value, list) else [value]) for word in (option, str(each))]
    return shlex.join(words)


def _told(folder: Path, report: Report, alone: str) -> _Result:
    """Return one line for a board that holds; else what fails, ten lines at most, and where the rest is to be read."""
    from capcheck.report import count_line, line_of_finding, unanswered
    from capcheck.values import visible

    code = int(report.exit_code)
    failing = [
        line_of_finding(finding)
        for finding in report.findings
        if code and not finding.waived and finding.waits_for is None and (finding.outcome == "fail" or report.strict)
    ]
    lines = failing[:_MOST_LINES]
    if rest := len(failing) - len(lines):
        lines.append(f"and {rest} more: {alone}")
    if report.unanswered:
        lines.append(f"unanswered: {unanswered(report)}")
    return _Result(code, [visible(line) for line in (*lines, f"{folder}: {count_line(report)}")])


COMMANDS: Final = (
    Command("boards", "check the boards of a repository that changed files are about, as a hook", _arguments, _run),
)
