"""``survey``: many boards against lines, in one table, and what stands in the way, ranked."""

from __future__ import annotations

import argparse
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Final

from capcheck.commands.command import (
    Command,
    add_config,
    add_jobs,
    configuration_for,
    none_read,
    tell,
    warn_of_not_obeyed,
)
from capcheck.commands.output import add_format, add_full, deliver, deliver_json, deliver_text, width_for
from capcheck.commands.written_file import refuse_output
from capcheck.values import InputError, counted

if TYPE_CHECKING:
    from capcheck.survey import Survey

_ENDINGS: Final = {
    ".txt": "text",
    ".html": "html",
    ".csv": "csv",
    ".xlsx": "xlsx",
    ".json": "json",
    ".parquet": "parquet",
}


def _seconds(text: str) -> float:
    """Return seconds, zero or more; argparse turns the error into one line and exit code 2."""
    value = float(text)
    if not 0 <= value < float("inf"):
        raise argparse.ArgumentTypeError(f"{text} is not a number of seconds")
    return value


def _arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "paths", nargs="+", metavar="PATH", help="boards: folders, folders of folders, archives, board.toml"
    )
    parser.add_argument(
        "--line", action="append", default=[], metavar="FILE", help="line file; once for each line; default: the shop's"
    )
    parser.add_argument(
        "--per-year", metavar="FILE", type=Path, help="CSV with the columns board and per year; else board.toml says it"
    )
    parser.add_argument("--library", action="append", default=[], metavar="FILE", help="package library of the shop")
    parser.add_argument(
        "--plan-seconds",
        type=_seconds,
        default=1.0,
        metavar="S",
        help="time to plan the cycle of a board on a line; 0: none is planned; default: 1",
    )
    add_jobs(parser)
    parser.add_argument(
        "--keep",
        metavar="FOLDER",
        type=Path,
        help="keep the result of each board here, and take those of boards for which nothing changed",
    )
    add_config(parser)
    add_format(parser, tuple(_ENDINGS.values()))
    parser.set_defaults(format=None)
    parser.add_argument(
        "--output",
        action="append",
        default=[],
        metavar="FILE",
        type=Path,
        help="write to this file, in the format that its ending names; may be given several times",
    )
    add_full(parser)


def _run(arguments: argparse.Namespace) -> int:
    from capcheck.checking import devices_of
    from capcheck.commands.progress import Working
    from capcheck.machines import read_line
    from capcheck.report import questions_asked
    from capcheck.shop import settle
    from capcheck.survey import Surveyor, read_quantities, survey

    outputs = list(_outputs(arguments))
    configuration = configuration_for(arguments)
    warn_of_not_obeyed(configuration)
    settings = settle(configuration, board=None, libraries=arguments.library)
    lines = [read_line(path) for path in arguments.line]
    if not lines and (of_shop := devices_of(settings)) is not None:
        lines = [of_shop]
    surveyor = Surveyor.prepared(settings, lines, questions_asked, arguments.plan_seconds, keep=arguments.keep)
    quantities = None if arguments.per_year is None else read_quantities(arguments.per_year)
    with Working("surveying") as working:
        found = survey(
            arguments.paths,
            surveyor,
            quantities=quantities,
            tell=tell,
            jobs=arguments.jobs,
            done=lambda name, number: working.step(f"{counted(number, 'board')}, last {name}"),
        )
    inputs = [*found.inputs, *(file.path for line in lines for file in line.inputs)]
    for output, _ in outputs:
        if output is not None:
            refuse_output(output, inputs)
    for output, form in outputs:
        _deliver(found, form, output, inputs, full=arguments.full or output is not None)
    return 0 if found.boards else none_read(found.unread)


def _outputs(arguments: argparse.Namespace) -> Iterator[tuple[Path | None, str]]:
    """Yield each file to write with its format, None for standard output."""
    if not arguments.output:
        yield None, arguments.format or "text"
    for file in arguments.output:
        form = arguments.format if len(arguments.output) == 1 else None
        form = form or _ENDINGS.get(file.suffix.lower())
        if form is None:
            raise InputError.at(
                str(file), "has an ending that names no format", remedy=f"end it in one of {', '.join(_ENDINGS)}"
            )
        yield file, form


def _deliver(found: Survey, form: str, output: Path | None, inputs: list[str], *, full: bool) -> None:
    from capcheck import report

    if form == "json":
        deliver_json(report.survey_json(found), output, inputs)
    elif form == "text":
        deliver_text(report.survey_text(found, width_for(output), full=full), output, inputs)
    else:
        makers: dict[str, Callable[[Survey], str | bytes]] = {
            "html": report.survey_page,
            "csv": report.survey_csv,
            "xlsx": report.survey_xlsx,
            "parquet": report.survey_parquet,
        }
        deliver(makers[form](found), output, inputs)


COMMANDS: Final = (
    Command("survey", "set many boards against lines: verdicts, and what stands in the way", _arguments, _run),
)
