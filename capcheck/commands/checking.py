"""``check`` and ``read``: a board against a line, and a board as understood."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable
from importlib import import_module
from typing import TYPE_CHECKING, Final

from capcheck.commands.command import (
    Command,
    add_config,
    add_inputs,
    add_output,
    add_rules,
    configuration_for,
    deliver,
    names,
)
from capcheck.values import InputError

if TYPE_CHECKING:
    from capcheck.checking import Report
    from capcheck.report import Line
    from capcheck.shop import Settings


FORMATS: Final[dict[str, tuple[str, str]]] = {
    "json": ("formats.json", "render_json"),
    "html": ("page.page", "html_report"),
    "markdown": ("formats.markdown", "report_markdown"),
    "csv": ("formats.csv", "report_csv"),
    "xlsx": ("formats.xlsx", "parts_xlsx"),
    "questions": ("questions.asked", "questions_markdown"),
    "questions-csv": ("questions.asked", "questions_csv"),
    "questions-xlsx": ("formats.xlsx", "questions_xlsx"),
    "svg": ("picture.marked", "report_svg"),
    "lines": ("formats.lines", "render_lines"),
    "sarif": ("formats.sarif", "render_sarif"),
    "junit": ("formats.junit", "render_junit"),
    "github": ("formats.github", "render_annotations"),
}
"""Formats beside text: the module of capcheck.report and the function that gives the whole, as text or bytes."""


def _check_arguments(parser: argparse.ArgumentParser) -> None:
    add_inputs(parser)
    parser.add_argument("--line", metavar="FILE", help="line file: machines in order; or a name of the configuration")
    parser.add_argument(
        "--machine", action="append", default=[], metavar="FILE", help="machine profile, instead of a line"
    )
    add_rules(parser)
    add_config(parser)
    parser.add_argument("--show-config", action="store_true", help="print what is in force and where it comes from")
    parser.add_argument("--strict", action="store_true", help="warnings and undecided rules fail too")
    parser.add_argument("--baseline", metavar="FILE", help="earlier JSON report: mark what is new, worse, unchanged")
    parser.add_argument("--new-only", action="store_true", help="with --baseline: only what is new or worse counts")
    parser.add_argument("--units", choices=("mm", "mil", "inch"), help="unit in which lengths are printed")
    add_output(parser, ("text", *FORMATS))


def _check(arguments: argparse.Namespace) -> int:
    from capcheck.checking import check_as_settled, devices_of
    from capcheck.commands.progress import Working
    from capcheck.shop import shown
    from capcheck.values import lengths_shown_in

    if arguments.new_only and arguments.baseline is None:
        raise InputError.at(
            "--new-only",
            "asks for what is new, and there is nothing to compare with",
            remedy="give an earlier report: --baseline FILE",
        )
    settings = _settings(arguments)
    if arguments.show_config:
        deliver("".join(f"{line}\n" for line in shown(settings)), arguments.output)
        return 0
    with lengths_shown_in(settings.units):
        with Working("reading and checking"):
            report = check_as_settled(
                settings,
                devices_of(settings, arguments.machine),
                placements=arguments.placements,
                bom=arguments.bom,
                outline=arguments.outline,
                baseline=arguments.baseline,
                new_only=arguments.new_only,
            )
        if arguments.format == "text":
            from capcheck.report import render

            _print_text(lambda width: render(report, width=width, full=_in_full(arguments)), arguments)
        else:
            deliver(_formatted(report, arguments.format), arguments.output)
    return int(report.exit_code)


def _settings(arguments: argparse.Namespace) -> Settings:
    from capcheck.shop import settle

    start = arguments.path or next(iter(arguments.placements), None)
    return settle(
        configuration_for(arguments, start),
        board=arguments.path,
        line=arguments.line,
        machines=bool(arguments.machine),
        libraries=arguments.library,
        rules=arguments.rules,
        select=names(arguments.select),
        ignore=names(arguments.ignore),
        strict=arguments.strict,
        units=arguments.units,
    )


def _formatted(report: Report, name: str) -> str | bytes:
    """Return the report in one of :data:`FORMATS`; each is imported only if asked for."""
    module, function = FORMATS[name]
    content: str | bytes = getattr(import_module(f"capcheck.report.{module}"), function)(report)
    return content


def _read_arguments(parser: argparse.ArgumentParser) -> None:
    add_inputs(parser)
    add_output(parser, ("text", "json", "csv", "svg"))


def _read(arguments: argparse.Namespace) -> int:
    from capcheck.checking import read_board

    board = read_board(
        arguments.path,
        placements=arguments.placements,
        bom=arguments.bom,
        outline=arguments.outline,
        libraries=arguments.library,
        outline_alone=True,
    )
    if arguments.format == "text":
        from capcheck.report import render_reading

        _print_text(lambda width: render_reading(board, width=width, full=_in_full(arguments)), arguments)
    elif arguments.format == "json":
        from capcheck.report import dumps, read_json

        deliver(dumps(read_json(board)), arguments.output)
    elif arguments.format == "svg":
        from capcheck.report import board_svg

        deliver(board_svg(board), arguments.output)
    else:
        from capcheck.report import parts_csv

        deliver(parts_csv(board), arguments.output)
    return 0


def _in_full(arguments: argparse.Namespace) -> bool:
    """Return whether everything is printed: lists are cut short on a terminal only, where more can be asked for."""
    return arguments.full or arguments.output is not None or not sys.stdout.isatty()


def _print_text(render: Callable[[int], list[Line]], arguments: argparse.Namespace) -> None:
    from capcheck.commands.terminal import width_of, write_lines
    from capcheck.report import WIDTH_WHEN_PIPED

    if arguments.output is None:
        write_lines(render(width_of(sys.stdout)))
    else:
        deliver("".join(f"{line.text}\n" for line in render(WIDTH_WHEN_PIPED)), arguments.output)


COMMANDS: Final = (
    Command("check", "check a board against a line of placement machines", _check_arguments, _check),
    Command("read", "show what was understood of a board's files, before any rule", _read_arguments, _read),
)
