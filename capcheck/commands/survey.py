"""``survey``: many boards against lines, in one table, and what stands in the way, ranked."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Final

from capcheck.commands.command import (
    Command,
    add_cluster,
    add_config,
    add_jobs,
    add_keep_results,
    add_rules,
    add_store,
    configuration_for,
    goes_on,
    none_read,
    settings_of,
    tell,
    warn_of_not_obeyed,
)
from capcheck.commands.output import (
    add_format,
    add_full,
    add_outputs,
    add_quiet,
    deliver,
    deliver_json,
    deliver_text,
    endings_of,
    outputs_of,
    refuse_quiet,
    width_for,
)
from capcheck.commands.written_file import refuse_output

if TYPE_CHECKING:
    from capcheck.survey import Survey

_FORMATS: Final = ("text", "html", "csv", "xlsx", "json", "parquet")


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
        help="seconds to plan the cycle of a board on a line; 0: no plan; default: 1",
    )
    add_jobs(parser)
    add_cluster(parser)
    add_keep_results(parser)
    add_config(parser)
    add_store(parser)
    add_rules(parser)
    parser.add_argument("--strict", action="store_true", help="warnings and undecided rules fail too")
    add_format(parser, _FORMATS)
    add_outputs(parser)
    add_quiet(parser)
    add_full(parser)


def _run(arguments: argparse.Namespace) -> int:
    from capcheck.checking import devices_of
    from capcheck.commands.patterns import matching
    from capcheck.commands.progress import Boards
    from capcheck.machines import read_line
    from capcheck.report import brief_survey, questions_asked
    from capcheck.shop import named_line
    from capcheck.survey import Surveyor, cluster, read_quantities, survey

    refuse_quiet(arguments)
    outputs = outputs_of(arguments, endings_of(_FORMATS))
    paths = matching(arguments.paths)
    configuration = configuration_for(arguments)
    warn_of_not_obeyed(configuration)
    settings = settings_of(arguments, configuration, place=Path.cwd())
    lines = [read_line(named_line(settings.configuration, name)) for name in arguments.line]
    if not lines and (of_shop := devices_of(settings)) is not None:
        lines = [of_shop]
    surveyor = Surveyor.prepared(settings, lines, questions_asked, arguments.plan_seconds, keep=arguments.keep)
    quantities = None if arguments.per_year is None else read_quantities(arguments.per_year)
    with goes_on(arguments.keep), cluster(arguments.cluster) as executor, Boards("surveying") as boards:
        found = survey(
            paths,
            surveyor,
            quantities=quantities,
            tell=boards.told(tell),
            jobs=arguments.jobs,
            executor=executor,
            watch=boards,
        )
    inputs = [*found.inputs, *(file.path for line in lines for file in line.inputs)]
    for output, _ in outputs:
        if output is not None:
            refuse_output(output, inputs)
    if arguments.quiet:
        deliver_text(brief_survey(found, width_for(None)))
        outputs = [(output, form) for output, form in outputs if output is not None]
    for output, form in outputs:
        _deliver(found, form, output, inputs, full=arguments.full or output is not None)
    return 0 if found.boards else none_read(found.unread)


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
    Command("survey", "check many boards against lines: verdicts, and what stands in the way", _arguments, _run),
)
