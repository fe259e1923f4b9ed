"""``check`` of several boards: a report each, a broken one told among them, one line of counts, the worst exit code."""

from __future__ import annotations

import argparse
import glob
import os
import sys
from collections.abc import Iterator, Sequence
from itertools import chain
from pathlib import Path
from typing import TYPE_CHECKING, Final

from capcheck.checking import ExitCode, Prepared, Report, check_prepared
from capcheck.commands.command import tell
from capcheck.commands.delivered_report import FileNames, deliver_as, deliver_report, file_in, inputs_of, outputs_of
from capcheck.commands.output import deliver, deliver_lines, show_now
from capcheck.commands.progress import Working
from capcheck.commands.written_file import make_folder
from capcheck.intake import NoPlacementsError, is_archive, start_ahead
from capcheck.model import Note
from capcheck.survey import Checked, NotChecked, Outcome, checked_boards, common_folder, exit_code_of_all
from capcheck.values import InputError, cut, inert_lines, lengths_shown_in

if TYPE_CHECKING:
    from capcheck.shop import Settings

_MOST_PROBLEMS: Final = 5
_LONGEST_LINE: Final = 2_000


def check_below(arguments: argparse.Namespace, given: Prepared, error: InputError) -> int:
    """Check the boards below a folder that is none itself. Raises *error* where the folder may not hold several."""
    board = given.settings.board
    if not isinstance(error, NoPlacementsError) or board is None or not board.is_dir() or _names_files(arguments):
        raise error
    return _checked(arguments, given, [str(board)], error)


def check_several(arguments: argparse.Namespace, given: Prepared) -> int:
    """Check the boards that the paths name or hold; a pattern names what matches it."""
    if named := _names_files(arguments):
        raise InputError.at(
            named, "names a file of one board", "several boards may lie here", "leave it out, or name one folder"
        )
    return _checked(arguments, given, [each for path in arguments.paths for each in _matching(path)])


def _names_files(arguments: argparse.Namespace) -> str:
    """Return the option that names a file of a single board."""
    return next((f"--{name}" for name in ("placements", "bom", "outline") if getattr(arguments, name)), "")


def _matching(path: str) -> list[str]:
    """Return what a pattern names that the shell has left as it is: folders, archives, files board.toml."""
    if not any(sign in path for sign in "*?[") or os.path.lexists(path):
        return [path]
    found = sorted(glob.glob(path, recursive=True))  # noqa: PTH207 - the text is the user's, with or without a root
    fitting = [
        each for each in found if Path(each).is_dir() or Path(each).name == "board.toml" or is_archive(Path(each))
    ]
    if not fitting:
        raise InputError.at(path, "no folder and no archive has such a name", remedy="correct the pattern")
    return fitting


def _checked(
    arguments: argparse.Namespace, given: Prepared, paths: Sequence[str], none: NoPlacementsError | None = None
) -> int:
    """Check the boards in *paths*; *none* is why the first of them is none itself, where that is known."""
    settings, failed = given.settings, {} if none is None else {Path(paths[0]): none}
    several = _Several(arguments, settings, paths)
    if len(paths) > 1:
        several.refuse_what_is_of_one()

    def check(path: Path) -> Report:
        if path in failed:
            raise failed.pop(path)
        start_ahead(str(path), None)
        with Working(f"reading and checking {path.name}"):
            return check_prepared(given, path, new_only=arguments.new_only)

    with lengths_shown_in(settings.units):
        outcomes = _noted(checked_boards(paths, check))
        first, second = next(outcomes, None), next(outcomes, None)
        if first is None:
            raise InputError.at(", ".join(paths), "holds no board", remedy="name a folder with a board's files")
        if second is not None:
            several.refuse_what_is_of_one()
            for outcome in chain((first, second), outcomes):
                several.tell(outcome)
            return several.end()
        # A single board is told as it ever was.
        if isinstance(first, NotChecked):
            raise first.error
        deliver_report(first.report, arguments, settings, paths, first.name)
        return int(first.report.exit_code)


def _noted(outcomes: Iterator[Outcome[Report]]) -> Iterator[Checked[Report] | NotChecked]:
    """Yield the outcomes of boards, and say on standard error what was passed over."""
    for outcome in outcomes:
        if isinstance(outcome, Note):
            tell(outcome)
        else:
            yield outcome


class _Several:
    """Tells what comes out of several boards, as it comes."""

    def __init__(self, arguments: argparse.Namespace, settings: Settings, paths: Sequence[str]) -> None:
        self._arguments = arguments
        self._settings = settings
        self._outputs = outputs_of(arguments)
        self._names = FileNames(common_folder(paths))
        self._to_files = self._outputs[0][0] is not None
        self._as_text = self._to_files or self._outputs[0][1] == "text"
        self._brief: bool = self._to_files or arguments.quiet
        self._verdicts: list[str | None] = []
        self._codes: list[ExitCode | None] = []

    def refuse_what_is_of_one(self) -> None:
        """Raise :class:`InputError` where something is asked for that is of one board alone."""
        from capcheck.report import ONE_AFTER_ANOTHER

        if self._arguments.baseline is not None:
            raise InputError.at(
                "--baseline", "is the report of one board", "there are several here", "compare each by itself"
            )
        form = self._outputs[0][1]
        if not self._to_files and form not in ONE_AFTER_ANOTHER:
            raise InputError.at(
                "--format", f"{form} of several boards is no single file", remedy="name a folder: --output reports"
            )

    def tell(self, outcome: Checked[Report] | NotChecked) -> None:
        """Write the report of a board, or say why there is none."""
        if isinstance(outcome, NotChecked):
            self._verdicts.append(None)
            self._codes.append(None)
            for problem in outcome.error.problems[:_MOST_PROBLEMS]:
                sys.stderr.write(f"not checked: {inert_lines(cut(str(problem), _LONGEST_LINE))}\n")
            return
        if self._verdicts and self._as_text and not self._brief:
            deliver("\n")
        report, name = outcome.report, outcome.name
        self._verdicts.append(report.verdict)
        self._codes.append(report.exit_code)
        if self._to_files:
            called = self._names.of(name)
            for output, form in self._outputs:
                if output is not None:
                    self._write(report, form, self._file(output, form, called, inputs_of(report, self._settings)))
        self._write(report, "text" if self._to_files else self._outputs[0][1], None, name)
        show_now()

    def _write(self, report: Report, form: str, file: Path | None, name: str = "") -> None:
        deliver_as(report, form, file, self._arguments, self._settings, quiet=self._brief, name=name)

    def _file(self, output: Path, form: str, called: str, inputs: Sequence[str | Path]) -> Path:
        """Return the file of a board: with its name in the one that was named, or in the folder."""
        if output.suffix and not output.is_dir():
            return output.with_name(f"{output.stem}-{called}{output.suffix}")
        make_folder(output, inputs)
        return file_in(output, form, called)

    def end(self) -> int:
        """Write the line of counts and return the exit code of all."""
        from capcheck.report import lines_of_boards

        alone = self._to_files and not self._arguments.quiet
        if self._as_text:
            deliver_lines(
                lambda width, **_: lines_of_boards(self._verdicts, width=width, alone=alone),
                argparse.Namespace(output=None, full=False),
            )
        else:
            (line,) = lines_of_boards(self._verdicts, width=0, alone=False)
            sys.stderr.write(f"{line.text}\n")
        return int(exit_code_of_all(self._codes))
