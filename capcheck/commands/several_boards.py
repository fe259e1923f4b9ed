"""``check`` of several boards: a report each, a broken one told among them, one line of counts, the worst exit code."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterator, Sequence
from itertools import chain
from pathlib import Path
from typing import TYPE_CHECKING, Final

from capcheck.checking import ExitCode, Prepared, check_prepared
from capcheck.commands.command import tell
from capcheck.commands.delivered_report import (
    FileNames,
    Told,
    deliver_content,
    deliver_told,
    file_in,
    outputs_of_check,
    told_of,
    warn_where_unsaid,
)
from capcheck.commands.output import deliver, deliver_made_lines, show_now, width_for
from capcheck.commands.patterns import matching
from capcheck.commands.progress import Boards
from capcheck.commands.written_file import make_folder
from capcheck.intake import NoPlacementsError, shown, start_ahead
from capcheck.model import Note
from capcheck.survey import Checked, NotChecked, Outcome, checked_boards, common_folder, exit_code_of_all
from capcheck.values import InputError, cut, inert_lines, lengths_shown_in, visible

if TYPE_CHECKING:
    from capcheck.commands.kept_board import ToKeep
    from capcheck.report import Line
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
    return _checked(arguments, given, matching(arguments.paths))


def _names_files(arguments: argparse.Namespace) -> str:
    """Return the option that names a file of a single board."""
    return next((f"--{name}" for name in ("placements", "bom", "outline") if getattr(arguments, name)), "")


def _checked(
    arguments: argparse.Namespace, given: Prepared, paths: Sequence[str], none: NoPlacementsError | None = None
) -> int:
    """Check the boards in *paths*; *none* is why the first of them is none itself, where that is known."""
    settings, failed = given.settings, {} if none is None else {Path(paths[0]): none}
    several = _Several(arguments, settings, paths)
    if len(paths) > 1:
        several.refuse_what_is_of_one()
    given.libraries.read()  # once, before there are processes

    def check(path: Path) -> Told:
        if path in failed:
            raise failed.pop(path)
        start_ahead(str(path), None)
        own = given.of_board(path)
        with lengths_shown_in(own.settings.units):
            report = check_prepared(own, path, new_only=arguments.new_only)
            return told_of(report, arguments, own.settings, name=shown(path), brief=several.brief)

    with Boards("checking") as boards:
        outcomes = _noted(
            checked_boards(paths, check, jobs=arguments.jobs, watch=boards, told_of=given.told_of), boards
        )
        first, second = next(outcomes, None), next(outcomes, None)
        if first is None:
            raise InputError.at(", ".join(paths), "holds no board", remedy="name a folder with a board's files")
        if second is not None:
            several.refuse_what_is_of_one()
            for outcome in chain((first, second), outcomes):
                with boards.silent():
                    several.tell(outcome)
            return several.end()
        # A single board is told as it ever was.
        if isinstance(first, NotChecked):
            raise first.error
        deliver_told(first.report, arguments, settings, paths, first.name)
        return int(first.report.exit_code)


def _noted(outcomes: Iterator[Outcome[Told]], boards: Boards) -> Iterator[Checked[Told] | NotChecked]:
    """Yield the outcomes of boards, and say on standard error what was passed over."""
    for outcome in outcomes:
        if isinstance(outcome, Note):
            with boards.silent():
                tell(outcome)
        else:
            yield outcome


class _Several:
    """Tells what comes out of several boards, as it comes."""

    def __init__(self, arguments: argparse.Namespace, settings: Settings, paths: Sequence[str]) -> None:
        self._arguments = arguments
        self._outputs = outputs_of_check(arguments)
        self._settings = settings
        self._names = FileNames(common_folder(paths))
        self._to_files = self._outputs[0][0] is not None
        self._as_text = self._to_files or self._outputs[0][1] == "text"
        self.brief: bool = self._to_files or arguments.quiet
        """Whether the screen shows verdicts and what fails alone."""
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

    def tell(self, outcome: Checked[Told] | NotChecked) -> None:
        """Write the report of a board, or say why there is none."""
        if not self._codes:
            warn_where_unsaid(self._outputs, self._settings)
        if isinstance(outcome, NotChecked):
            self._verdicts.append(None)
            self._codes.append(None)
            for problem in outcome.error.problems[:_MOST_PROBLEMS]:
                sys.stderr.write(f"not checked: {inert_lines(cut(str(problem), _LONGEST_LINE))}\n")
            return
        if self._verdicts and self._as_text and not self.brief:
            deliver("\n")
        told = outcome.report
        self._verdicts.append(told.verdict)
        self._codes.append(told.exit_code)
        if self._to_files:
            called = self._names.of(outcome.name)
            for (output, form), content in zip(self._outputs, told.contents, strict=True):
                if output is not None:
                    deliver_content(content, self._file(output, form, called, told.not_to_write), told.not_to_write)
        if self.brief:
            deliver_content(told.brief_among_others, None, told.not_to_write)
        else:
            (content,) = told.contents
            named = (_headed(outcome.name), *content) if isinstance(content, tuple) else content
            deliver_content(named, None, told.not_to_write)
        show_now()
        if told.to_keep is not None:
            self._keep(told.to_keep)

    def _keep(self, one: ToKeep) -> None:
        """Write a board into the store; one that cannot be kept is told and stops no other."""
        from capcheck.commands.kept_board import keep_board

        try:
            keep_board(one)
        except InputError as error:
            self._codes[-1] = None
            sys.stderr.write(f"not kept: {inert_lines(cut(str(error), _LONGEST_LINE))}\n")

    def _file(self, output: Path, form: str, called: str, inputs: Sequence[str]) -> Path:
        """Return the file of a board: with its name in the one that was named, or in the folder."""
        if output.suffix and not output.is_dir():
            return output.with_name(f"{output.stem}-{called}{output.suffix}")
        make_folder(output, inputs)
        return file_in(output, form, called)

    def end(self) -> int:
        """Write the line of counts and return the exit code of all."""
        from capcheck.report import lines_of_boards

        quiet = self._arguments.quiet
        if self._as_text:
            deliver_made_lines(
                lines_of_boards(self._verdicts, width=width_for(None), alone=self._to_files, quiet=quiet)
            )
        else:
            (line,) = lines_of_boards(self._verdicts, width=0, alone=False)
            sys.stderr.write(f"{line.text}\n")
        return int(exit_code_of_all(self._codes))


def _headed(name: str) -> Line:
    """Return the line that stands above the report of a board among others."""
    from capcheck.report import Line

    return Line(visible(name), "head")
