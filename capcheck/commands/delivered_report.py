"""The report of a check, in each format and to each file that was asked for."""

from __future__ import annotations

import argparse
import hashlib
import os
import re
from collections.abc import Sequence
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Final

from capcheck.commands.command import warn_of_not_obeyed
from capcheck.commands.output import deliver, deliver_lines
from capcheck.values import InputError

if TYPE_CHECKING:
    from capcheck.checking import Report
    from capcheck.shop import Settings

_LONGEST: Final = 100


def outputs_of(arguments: argparse.Namespace) -> list[tuple[Path | None, str]]:
    """Return each file to write with its format, None for standard output.

    A format that was chosen holds for a single file; of several, each ending names its own.
    """
    chosen: str | None = arguments.format
    if not arguments.output:
        return [(None, chosen or "text")]
    if chosen and len(arguments.output) == 1:
        return [(arguments.output[0], chosen)]
    from capcheck.report import format_of_ending

    return [(file, format_of_ending(file.suffix, chosen) or chosen or "text") for file in arguments.output]


def refuse_quiet(arguments: argparse.Namespace) -> None:
    """Raise :class:`InputError` where less is asked for of a format that is whole or nothing."""
    if arguments.quiet and not arguments.output and arguments.format not in {None, "text"}:
        raise InputError.at(
            "--quiet", "is of the text, and another format is asked for", remedy="leave out one of them"
        )


def inputs_of(report: Report, settings: Settings) -> list[str | Path]:
    """Return the files that were read for a report, none of which is written over."""
    found = settings.configuration.path
    return [*(f.path for f in report.inputs), *settings.libraries, *([] if found is None else [found])]


def deliver_report(
    report: Report, arguments: argparse.Namespace, settings: Settings, paths: Sequence[str], name: str = ""
) -> None:
    """Write the report of the one board in *paths*; where a folder takes it, it is called after where it lies."""
    for output, form in outputs_of(arguments):
        file = output
        if output is not None and output.is_dir():
            from capcheck.survey import common_folder

            called = FileNames(common_folder(paths)).of(name or next(iter(paths), report.board.name))
            file = file_in(output, form, called)
        deliver_as(report, form, file, arguments, settings, quiet=arguments.quiet)
    if arguments.quiet and arguments.output:
        deliver_as(report, "text", None, arguments, settings, quiet=True)


def deliver_as(
    report: Report,
    form: str,
    output: Path | None,
    arguments: argparse.Namespace,
    settings: Settings,
    *,
    quiet: bool = False,
    name: str = "",
) -> None:
    """Write a report in one format to one file, or to standard output; what a file holds is whole.

    *name* is what a text on standard output calls the board, where there are several.
    """
    inputs = inputs_of(report, settings)
    if form == "text":
        from capcheck.report import styled_report

        styled = partial(styled_report, report, quiet=quiet and output is None, name=name)
        deliver_lines(styled, argparse.Namespace(output=output, full=arguments.full), inputs)
        return
    from capcheck.lexicon import customers_language
    from capcheck.report import load_format

    warn_of_not_obeyed(settings.configuration)
    with customers_language(arguments.language):
        deliver(load_format(form).render(report), output, inputs)


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
