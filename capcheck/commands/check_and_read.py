"""``check`` and ``read``: a board against a line, and a board as understood."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Final

from capcheck.commands.command import (
    Command,
    OneOrSeveral,
    add_config,
    add_files,
    add_inputs,
    add_jobs,
    add_rules,
    add_settling,
    add_store,
    configuration_for,
    settings_of,
    warn_of_not_obeyed,
)
from capcheck.commands.output import (
    add_format,
    add_full,
    add_output,
    add_outputs,
    add_quiet,
    deliver,
    deliver_json,
    deliver_lines,
    deliver_text,
    refuse_quiet,
)
from capcheck.commands.watch import add_watch
from capcheck.values import InputError

if TYPE_CHECKING:
    from capcheck.shop import Settings


def _check_arguments(parser: argparse.ArgumentParser) -> None:
    from capcheck.report import customers_languages, format_names

    parser.add_argument(
        "paths",
        nargs="*",
        metavar="PATH",
        help="a folder with the board's files, or its board.toml; or several of them, an archive (zip, tar, 7z), or a"
        " folder that holds folders and archives: a report for each board in them",
    )
    add_files(parser)
    parser.add_argument(
        "--line",
        action=OneOrSeveral,
        metavar="FILE",
        help="line file: machines in order; or a name of the configuration; of several lines each answers in short",
    )
    parser.add_argument(
        "--machine", action="append", default=[], metavar="FILE", help="machine profile, instead of a line"
    )
    add_rules(parser)
    add_config(parser)
    add_store(parser)
    parser.add_argument(
        "--keep", action="store_true", help="keep the board in the shop's store: revision, parts, what its files state"
    )
    parser.add_argument("--by", metavar="WHO", default="", help="with --keep: who keeps it; default: your login name")
    parser.add_argument("--label", metavar="TEXT", default="", help="with --keep: what this revision is called")
    parser.add_argument("--show-config", action="store_true", help="print what is in force and where it comes from")
    parser.add_argument("--strict", action="store_true", help="warnings and undecided rules fail too")
    parser.add_argument("--baseline", metavar="FILE", help="earlier JSON report: mark what is new, worse, unchanged")
    parser.add_argument("--new-only", action="store_true", help="with --baseline: only what is new or worse counts")
    parser.add_argument("--units", choices=("mm", "mil", "inch"), help="unit in which lengths are printed")
    add_format(parser, ["text", *(name for name in format_names() if name != "text")])
    parser.add_argument(
        "--language", choices=customers_languages(), default="en", help="of the questions to the customer; default: en"
    )
    add_outputs(
        parser, "; of several boards each has its own, with the board's name in its name, or in the folder named here"
    )
    add_jobs(parser)
    add_quiet(parser)
    add_watch(parser)
    add_full(parser)


def _check(arguments: argparse.Namespace) -> int:
    from capcheck.intake import start_ahead

    if len(arguments.paths) < 2 or arguments.outline is not None:
        start_ahead(next(iter(arguments.paths), None), arguments.outline)
    if arguments.new_only and arguments.baseline is None:
        raise InputError.at(
            "--new-only",
            "asks for what is new, and there is nothing to compare with",
            remedy="give an earlier report: --baseline FILE",
        )
    configuration = configuration_for(arguments)
    if isinstance(arguments.line, list):
        from capcheck.commands.several_lines import check_on_lines

        return check_on_lines(arguments, configuration)
    # What holds for one of several boards is its own: wrong settings of the first would end the run of all.
    several = _may_be_several(arguments.paths) and not arguments.show_config
    named = {"place": Path.cwd()} if several else {"board": next(iter(arguments.paths), None)}
    try:
        return _checked(arguments, settings_of(arguments, configuration, **named))
    except InputError:
        warn_of_not_obeyed(configuration)  # the report would have named them
        raise


def _checked(arguments: argparse.Namespace, settings: Settings) -> int:
    from capcheck.checking import check_prepared, devices_of, prepare
    from capcheck.commands.delivered_report import deliver_told, outputs_of_check, told_of
    from capcheck.commands.progress import Working
    from capcheck.shop import shown
    from capcheck.values import lengths_shown_in, phases_heard_by

    if arguments.show_config:
        deliver_text(
            "".join(f"{line}\n" for line in shown(settings)),
            next(iter(arguments.output), None),
            [*(path for path, _ in settings.files()), *_files_of(settings.board)],
        )
        return 0
    refuse_quiet(arguments)
    outputs_of_check(arguments)  # before any work
    if arguments.keep:
        from capcheck.commands.kept_board import refuse_keep, who_brings_it

        refuse_keep(settings)
        arguments.by = who_brings_it(arguments.by)
    if _may_be_several(arguments.paths):
        from capcheck.commands.several_boards import check_several

        return check_several(
            arguments, prepare(settings, devices_of(settings, arguments.machine), baseline=arguments.baseline)
        )
    with lengths_shown_in(settings.units):
        with Working("reading and checking") as working, phases_heard_by(working.phase):
            none = None
            given = prepare(settings, devices_of(settings, arguments.machine), baseline=arguments.baseline)
            try:
                report = check_prepared(
                    given,
                    placements=arguments.placements,
                    bom=arguments.bom,
                    outline=arguments.outline,
                    new_only=arguments.new_only,
                )
            except InputError as error:
                none = error
        if none is not None:
            from capcheck.commands.several_boards import check_below

            return check_below(arguments, given, none)
        with Working("writing the report"):
            told = told_of(report, arguments, settings, brief=arguments.quiet, in_pieces=True)
        deliver_told(told, arguments, settings, arguments.paths)
    return int(report.exit_code)


def _may_be_several(paths: Sequence[str]) -> bool:
    """Whether paths are more than the one folder or board.toml of a board: several, an archive, or a pattern."""
    if len(paths) != 1:
        return bool(paths)
    path = Path(paths[0])
    return path.suffix.lower() != ".toml" and not path.is_dir()


def _files_of(board: Path | None) -> list[Path]:
    """Return what may be an input in a board's folder, where nothing of it was read."""
    folder = board if board is None or board.is_dir() else board.parent
    return sorted(folder.iterdir()) if folder is not None and folder.is_dir() else []


def _read_arguments(parser: argparse.ArgumentParser) -> None:
    add_inputs(parser)
    add_settling(parser)
    add_format(parser, ("text", "json", "csv", "svg"))
    add_output(parser)
    add_full(parser)


def _read(arguments: argparse.Namespace) -> int:
    from capcheck import report
    from capcheck.checking import prepare, read_prepared

    configuration = configuration_for(arguments)
    warn_of_not_obeyed(configuration)
    settings = settings_of(arguments, configuration, arguments.path)
    board = read_prepared(
        prepare(settings, None),
        placements=arguments.placements,
        bom=arguments.bom,
        outline=arguments.outline,
        outline_alone=True,
    )
    inputs = [file.path for file in board.inputs]
    if arguments.format == "text":
        deliver_lines(partial(report.styled_reading, board), arguments, inputs)
    elif arguments.format == "json":
        deliver_json(report.read_json(board), arguments.output, inputs)
    elif arguments.format == "csv":
        deliver(report.parts_csv(board), arguments.output, inputs)
    else:
        deliver(report.board_svg(board), arguments.output, inputs)
    return 0


COMMANDS: Final = (
    Command("check", "check a board against a line of placement machines", _check_arguments, _check),
    Command("read", "show what was understood of a board's files, before any rule", _read_arguments, _read),
)
