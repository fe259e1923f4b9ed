"""``needs``: what many boards ask of a line, as distributions, and a profile that covers a share of them."""

from __future__ import annotations

import argparse
import re
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Final

from capcheck.commands.command import (
    Command,
    add_cluster,
    add_jobs,
    add_keep_results,
    add_settling,
    configuration_for,
    goes_on,
    none_read,
    positive,
    settings_of,
    tell,
    warn_of_not_obeyed,
)
from capcheck.commands.output import (
    add_format,
    add_full,
    add_outputs,
    deliver,
    deliver_json,
    deliver_text,
    endings_of,
    outputs_of,
    width_for,
)

if TYPE_CHECKING:
    from capcheck.report import Needs

_FORMATS: Final = ("text", "html", "csv", "xlsx", "json", "parquet")


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
    add_cluster(parser)
    add_keep_results(parser)
    add_settling(parser)
    add_format(parser, _FORMATS)
    add_outputs(parser)
    add_full(parser)


def _run(arguments: argparse.Namespace) -> int:
    from capcheck import report
    from capcheck.checking import prepare
    from capcheck.commands.patterns import matching
    from capcheck.commands.progress import Boards
    from capcheck.survey import cluster, needs_of_boards, profile_text, read_quantities

    outputs = outputs_of(arguments, endings_of(_FORMATS))
    paths = matching(arguments.paths)
    quantities = None if arguments.per_year is None else read_quantities(arguments.per_year)
    configuration = configuration_for(arguments)
    warn_of_not_obeyed(configuration)
    shop = prepare(settings_of(arguments, configuration, place=Path.cwd()), None)
    with goes_on(arguments.keep), cluster(arguments.cluster) as executor, Boards("reading") as boards:
        found, unread = needs_of_boards(
            paths,
            shop=shop,
            quantities=quantities,
            tell=boards.told(tell),
            watch=boards,
            jobs=arguments.jobs,
            executor=executor,
            keep=arguments.keep,
        )
    needs = report.Needs(found, unread, arguments.cover, arguments.hours_per_year)
    inputs = [file.path for board in found for file in board.inputs]
    if found and arguments.profile is not None:
        words = report.cover_in_words(needs.cover, needs.share, of=report.shares_of(needs))
        deliver(profile_text(needs.cover, f"No machine, but what boards ask. {words}."), arguments.profile, inputs)
    for output, form in outputs:
        _deliver(needs, form, output, inputs, full=arguments.full or output is not None)
    return 0 if found else none_read(unread)


def _deliver(needs: Needs, form: str, output: Path | None, inputs: list[str], *, full: bool) -> None:
    from capcheck import report

    if form == "json":
        deliver_json(report.needs_json(needs), output, inputs)
    elif form == "text":
        deliver_text(report.needs_text(needs, width_for(output), full=full), output, inputs)
    else:
        makers: dict[str, Callable[[Needs], str | bytes]] = {
            "csv": report.needs_csv,
            "html": report.needs_page,
            "parquet": report.needs_parquet,
            "xlsx": report.needs_xlsx,
        }
        deliver(makers[form](needs), output, inputs)


COMMANDS: Final = (
    Command("needs", "show what many boards require of a line, and write a profile that covers them", _arguments, _run),
)
