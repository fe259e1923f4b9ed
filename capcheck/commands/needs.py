"""``needs``: what many boards ask of a line, as distributions, and a profile that covers a share of them."""

from __future__ import annotations

import argparse
import re
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Final

from capcheck.commands.command import Command, add_jobs, none_read, positive, tell
from capcheck.commands.output import add_format, add_full, add_output, deliver, deliver_json, deliver_text, width_for

if TYPE_CHECKING:
    from capcheck.report import Needs


def _share(text: str) -> float:
    """Return a share, above 0 and at most 1; argparse turns the error into one line and exit code 2."""
    match = re.fullmatch(r"(\d+(?:\.\d+)?)\s*(%?)", text.strip())
    value = 0.0 if match is None else float(match[1]) / (100 if match[2] else 1)
    if not 0 < value <= 1:
        raise argparse.ArgumentTypeError(f'"{text}" is not a share; write it like 95%')
    return value


def _arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "paths", nargs="+", metavar="PATH", help="boards: folders, folders of folders, archives, board.toml"
    )
    parser.add_argument(
        "--per-year", metavar="FILE", type=Path, help="CSV with the columns board and per year; else board.toml says it"
    )
    parser.add_argument("--hours-per-year", type=positive, metavar="H", help="hours in which these quantities are made")
    parser.add_argument("--library", action="append", default=[], metavar="FILE", help="package library of the shop")
    parser.add_argument(
        "--cover", type=_share, default=0.95, metavar="SHARE", help="share of the boards to cover; default: 95%%"
    )
    parser.add_argument(
        "--profile", metavar="FILE", type=Path, help="write a machine profile of the limits that cover it, to compare"
    )
    add_jobs(parser)
    add_format(parser, ("text", "json", "csv", "html"))
    add_output(parser)
    add_full(parser)


def _run(arguments: argparse.Namespace) -> int:
    from capcheck import report
    from capcheck.commands.progress import Working
    from capcheck.survey import needs_of_boards, profile_text, read_quantities

    quantities = None if arguments.per_year is None else read_quantities(arguments.per_year)
    with Working("reading boards"):
        boards, unread = needs_of_boards(
            arguments.paths, libraries=arguments.library, quantities=quantities, tell=tell, jobs=arguments.jobs
        )
    needs = report.Needs(boards, unread, arguments.cover, arguments.hours_per_year)
    inputs = [file.path for board in boards for file in board.inputs]
    if boards and arguments.profile is not None:
        words = report.cover_in_words(needs.cover, needs.share)
        deliver(profile_text(needs.cover, f"A machine that is none: {words}."), arguments.profile, inputs)
    _deliver(needs, arguments, inputs)
    return 0 if boards else none_read(unread)


def _deliver(needs: Needs, arguments: argparse.Namespace, inputs: list[str]) -> None:
    from capcheck import report

    if arguments.format == "json":
        deliver_json(report.needs_json(needs), arguments.output, inputs)
    elif arguments.format == "text":
        full = arguments.full or arguments.output is not None
        deliver_text(report.needs_text(needs, width_for(arguments.output), full=full), arguments.output, inputs)
    else:
        makers: dict[str, Callable[[Needs], str]] = {"csv": report.needs_csv, "html": report.needs_page}
        deliver(makers[arguments.format](needs), arguments.output, inputs)


COMMANDS: Final = (
    Command("needs", "say what many boards ask of a line, and write a profile that covers them", _arguments, _run),
)
