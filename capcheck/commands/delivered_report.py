"""The report of a check, in each format and to each file that was asked for."""

from __future__ import annotations

import argparse
import hashlib
import os
import re
from collections.abc import Iterator, Sequence
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Final, TypeAlias

from msgspec import Struct

from capcheck.commands.command import warn_of_not_obeyed
from capcheck.commands.output import deliver, deliver_made_lines, outputs_of, width_for

if TYPE_CHECKING:
    from capcheck.checking import ExitCode, Report, Verdict
    from capcheck.commands.kept_board import ToKeep
    from capcheck.model import InputFile
    from capcheck.report import Line
    from capcheck.shop import Settings

_LONGEST: Final = 100
Content: TypeAlias = "tuple[Line, ...] | str | bytes | Iterator[str]"
"""What stands in an output: lines with their styles, or a finished text or file, or a text in pieces."""


class Told(Struct, frozen=True):
    """What is told of a board: how it ended, and what stands in each output and on the screen.

    It can be sent from one process to another, which a report, whose answers are worked out as they are asked for,
    cannot.
    """

    inputs: tuple[InputFile, ...]
    not_to_write: tuple[str, ...]
    """The files that were read, none of which is written over."""
    verdict: Verdict
    exit_code: ExitCode
    contents: tuple[Content, ...]
    """One for each output that was asked for, in their order."""
    brief: tuple[Line, ...] = ()
    """Verdict and what fails alone; empty where nobody asked for it."""
    brief_among_others: tuple[Line, ...] = ()
    """The same with the name of the board, as it stands among those of others."""
    to_keep: ToKeep | None = None
    """What the store is told of it, where that is asked for."""


def outputs_of_check(arguments: argparse.Namespace) -> list[tuple[Path | None, str]]:
    """Return each file to write with its format, None for standard output; a name without ending may be a folder's."""
    if not arguments.output:
        return [(None, arguments.format or "text")]
    from capcheck.report import ENDINGS, format_names

    # Some forms are of papers that only other commands write.
    own = set(format_names())
    endings = {form: ends for form, ends in ENDINGS.items() if form in own}
    return outputs_of(arguments, endings, without_ending="text")


def told_of(
    report: Report,
    arguments: argparse.Namespace,
    settings: Settings,
    *,
    name: str = "",
    brief: bool = False,
    in_pieces: bool = False,
) -> Told:
    """Return what is told of a board by *name* and its own *settings*; with *brief* also verdict and what fails alone.

    *in_pieces* lets what is long be made as it is written; such a record stays in this process.
    """
    from capcheck.report import styled_report

    screen = partial(styled_report, report, width=width_for(None), full=False, quiet=True)
    return Told(
        inputs=tuple(report.inputs),
        not_to_write=tuple(file.path for file in report.inputs),
        verdict=report.verdict,
        exit_code=report.exit_code,
        contents=tuple(
            _content(report, form, file, arguments, in_pieces=in_pieces) for file, form in outputs_of_check(arguments)
        ),
        brief=tuple(screen()) if brief else (),
        brief_among_others=tuple(screen(name=name)) if brief and name else (),
        to_keep=_to_keep(report, arguments, settings) if arguments.keep else None,
    )


def _to_keep(report: Report, arguments: argparse.Namespace, settings: Settings) -> ToKeep:
    from capcheck.commands.kept_board import what_to_keep

    return what_to_keep(report, settings, arguments.by, arguments.label)


def _content(
    report: Report, form: str, file: Path | None, arguments: argparse.Namespace, *, in_pieces: bool
) -> Content:
    """Return a report in one format; what a file holds is whole."""
    if form == "text":
        from capcheck.report import styled_report

        if arguments.quiet and file is None:
            return ()  # the screen shows the brief text
        return tuple(styled_report(report, width=width_for(file), full=arguments.full))
    from capcheck.lexicon import customers_language
    from capcheck.report import load_format, pieces_of

    with customers_language(arguments.language):
        return pieces_of(form, report) if in_pieces else load_format(form).render(report)


def deliver_content(content: Content, file: Path | None, inputs: Sequence[str]) -> None:
    """Write what was made before to a file, or to standard output."""
    if isinstance(content, tuple):
        deliver_made_lines(content, file, inputs)
    else:
        deliver(content, file, inputs)


def deliver_told(
    told: Told, arguments: argparse.Namespace, settings: Settings, paths: Sequence[str], name: str = ""
) -> None:
    """Write what is told of the one board in *paths*, and keep it where that is asked for.

    Where the board was looked for, at *name*, a folder may hold its report.
    """
    outputs = outputs_of_check(arguments)
    warn_where_unsaid(outputs, settings)
    for (output, form), content in zip(outputs, told.contents, strict=True):
        file = output
        if name and output is not None and output.is_dir():
            from capcheck.survey import common_folder

            file = file_in(output, form, FileNames(common_folder(paths)).of(name))
        if not (arguments.quiet and output is None):
            deliver_content(content, file, told.not_to_write)
    if arguments.quiet:
        deliver_content(told.brief, None, told.not_to_write)
    if told.to_keep is not None:
        from capcheck.commands.kept_board import keep_board

        keep_board(told.to_keep)


def warn_where_unsaid(outputs: Sequence[tuple[Path | None, str]], settings: Settings) -> None:
    """Say which configurations do not hold, where a format is asked for that does not name them itself."""
    if any(form != "text" for _, form in outputs):
        warn_of_not_obeyed(settings.configuration)


def file_in(folder: Path, form: str, name: str) -> Path:
    """Return the file of a board in a folder of reports."""
    from capcheck.report import ENDINGS

    return folder / f"{name}{ENDINGS[form][0]}"


class FileNames:
    """Names for the files of boards that lie below *base*: plain, short, and none twice."""

    def __init__(self, base: str) -> None:
        self._base = base
        self._taken: set[str] = set()

    def of(self, name: str) -> str:
        """Return the name for files of the board that lies at *name*."""
        whole = os.path.abspath(name)  # noqa: PTH100 - it may lie in an archive, and a link stays as it is
        whole = os.path.dirname(whole) if whole.endswith(".toml") else whole  # noqa: PTH120
        below = os.path.relpath(whole, self._base) if self._base else whole
        plain = re.sub(r"[^\w.()+-]+", "-", Path(whole).name if below == "." else below).strip("-.") or "board"
        known = hashlib.sha256(whole.encode(errors="surrogatepass")).hexdigest()[:8]
        if len(plain) > _LONGEST or plain.casefold() in self._taken:
            plain = f"{plain[:_LONGEST]}-{known}"
        self._taken.add(plain.casefold())
        return plain
