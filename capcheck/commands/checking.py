"""``check`` and ``read``: a board against a line, and a board as understood."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable
from typing import TYPE_CHECKING, Final

from capcheck.commands.command import Command, add_inputs, add_output, add_rules, deliver, names

if TYPE_CHECKING:
    from capcheck.report.text import Line


def _check_arguments(parser: argparse.ArgumentParser) -> None:
    add_inputs(parser)
    parser.add_argument("--line", metavar="FILE", help="line file: machines in order")
    parser.add_argument(
        "--machine", action="append", default=[], metavar="FILE", help="machine profile, instead of a line"
    )
    add_rules(parser)
    parser.add_argument("--strict", action="store_true", help="warnings and undecided rules fail too")
    add_output(parser, ("text", "json", "csv"))


def _check(arguments: argparse.Namespace) -> int:
    from capcheck.checking import Choice, check

    report = check(
        arguments.path,
        line=arguments.line,
        machines=arguments.machine,
        placements=arguments.placements,
        bom=arguments.bom,
        outline=arguments.outline,
        libraries=arguments.library,
        choice=Choice(arguments.rules, names(arguments.select), names(arguments.ignore)),
        strict=arguments.strict,
    )
    if arguments.format == "text":
        from capcheck.report.text import render

        _print_text(lambda width: render(report, width=width, full=arguments.full), arguments)
    elif arguments.format == "json":
        from capcheck.report.json import dumps, report_json

        deliver(dumps(report_json(report)), arguments.output)
    else:
        from capcheck.report.parts_csv import parts_csv

        deliver(parts_csv(report.board, report), arguments.output)
    return int(report.exit_code)


def _read_arguments(parser: argparse.ArgumentParser) -> None:
    add_inputs(parser)
    add_output(parser, ("text", "json", "csv"))


def _read(arguments: argparse.Namespace) -> int:
    from capcheck.board import read_board

    board = read_board(
        arguments.path,
        placements=arguments.placements,
        bom=arguments.bom,
        outline=arguments.outline,
        libraries=arguments.library,
    )
    if arguments.format == "text":
        from capcheck.report.read_text import render_reading

        _print_text(lambda width: render_reading(board, width=width, full=arguments.full), arguments)
    elif arguments.format == "json":
        from capcheck.report.json import dumps, read_json

        deliver(dumps(read_json(board)), arguments.output)
    else:
        from capcheck.report.parts_csv import parts_csv

        deliver(parts_csv(board), arguments.output)
    return 0


def _print_text(render: Callable[[int], list[Line]], arguments: argparse.Namespace) -> None:
    from capcheck.report.terminal import width_of, write_lines
    from capcheck.report.text import WIDTH_WHEN_PIPED

    if arguments.output is None:
        write_lines(render(width_of(sys.stdout)))
    else:
        deliver("".join(f"{line.text}\n" for line in render(WIDTH_WHEN_PIPED)), arguments.output)


COMMANDS: Final = (
    Command("check", "check a board against a line of placement machines", _check_arguments, _check),
    Command("read", "show what was understood of a board's files, before any rule", _read_arguments, _read),
)
