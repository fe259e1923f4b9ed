"""A board against several lines at once: the head of each one's answer, and once what all of them ask first."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from capcheck.commands.command import settings_of, warn_of_not_obeyed
from capcheck.commands.output import deliver_made_lines, width_for
from capcheck.values import InputError

if TYPE_CHECKING:
    from capcheck.shop import Configuration


def check_on_lines(arguments: argparse.Namespace, configuration: Configuration) -> int:
    """Tell the verdict of each line that is named, and return the worst exit code. Raises :class:`InputError`."""
    from capcheck.checking import check_read, prepare, read_prepared
    from capcheck.commands.progress import Working
    from capcheck.machines import read_line
    from capcheck.report import styled_heads
    from capcheck.shop import named_line
    from capcheck.survey import exit_code_of_all
    from capcheck.values import lengths_shown_in

    _refuse(arguments)
    warn_of_not_obeyed(configuration)
    settings = settings_of(arguments, configuration, board=next(iter(arguments.paths), None))
    lines = [read_line(named_line(configuration, name)) for name in dict.fromkeys(arguments.line)]
    with lengths_shown_in(settings.units):
        with Working("reading and checking"):
            given = prepare(settings, None)
            board = read_prepared(given, placements=arguments.placements, bom=arguments.bom, outline=arguments.outline)
            reports = [check_read(given, board, line) for line in lines]
        deliver_made_lines(styled_heads(reports, width=width_for(None), quiet=arguments.quiet))
    return int(exit_code_of_all([report.exit_code for report in reports]))


def _refuse(arguments: argparse.Namespace) -> None:
    """Raise where something is asked for that is of one line alone."""
    given = vars(arguments)
    ours = ("output", "full", "keep", "baseline", "new_only", "show_config", "machine")
    other = next((f"--{name.replace('_', '-')}" for name in ours if given.get(name)), None)
    other = other or ("--format" if arguments.format not in {None, "text"} else None)
    if other is None and len(arguments.paths) > 1:
        other = "a second board"
    if other is not None:
        raise InputError.at(
            "--line",
            f"is given for several lines, and {other} is of one",
            "several lines are answered with the head of each one's report",
            "name one line; capcheck compare sets lines side by side, capcheck survey many boards against them",
        )
