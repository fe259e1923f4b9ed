"""``lists``: what people act on, from one board: order, nozzles, pin 1, handling, test points."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING, Final

from capcheck.commands.command import (
    Command,
    Once,
    add_inputs,
    add_settling,
    configuration_for,
    settings_of,
    warn_of_not_obeyed,
)
from capcheck.commands.output import add_format, add_output, deliver, deliver_json, deliver_text, width_for

if TYPE_CHECKING:
    from capcheck.lists import PartList
    from capcheck.model import Board, InputFile
    from capcheck.shop import Settings

_WHICH: Final = {
    "order": "quantity to order, with what is lost by size, and reels",
    "nozzles": "nozzles that the bodies need, against the profiles' own; needs --line",
    "pin-1": "polarity and pin 1 for the first article",
    "handling": "exceptions for reflow, wash and hand",
    "test-points": "test points by side and size",
}


def _boards(text: str) -> int:
    """Return a number of boards; argparse turns the error into one line and exit code 2."""
    if not text.isdecimal() or not 1 <= int(text) <= 10**9:
        raise argparse.ArgumentTypeError(f"{text} is not a number of boards")
    return int(text)


def _arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("which", choices=_WHICH, help="; ".join(f"{name}: {text}" for name, text in _WHICH.items()))
    add_inputs(parser)
    parser.add_argument("--line", action=Once, metavar="FILE", help="line file, for nozzles")
    parser.add_argument("--boards", type=_boards, metavar="N", help="boards of the order; default 1")
    parser.add_argument(
        "--reels", metavar="FILE", type=Path, help="CSV with part number and parts per container, to count reels"
    )
    add_settling(parser)
    add_format(parser, ("text", "csv", "html", "json"))
    add_output(parser)


def _run(arguments: argparse.Namespace) -> int:
    from capcheck.report import list_csv, list_json, list_page, list_text

    configuration = configuration_for(arguments)
    warn_of_not_obeyed(configuration)
    settings = settings_of(arguments, configuration, arguments.path)
    listed, files = _listed(arguments, settings)
    inputs: list[str | Path] = [*(file.path for file in files), *(path for path, _ in settings.files())]
    if arguments.format == "json":
        deliver_json(list_json(listed, files), arguments.output, inputs)
    elif arguments.format == "csv":
        deliver(list_csv(listed), arguments.output, inputs)
    elif arguments.format == "html":
        deliver(list_page(listed), arguments.output, inputs)
    else:
        deliver_text(list_text(listed, width_for(arguments.output)), arguments.output, inputs)
    return 0


def _listed(arguments: argparse.Namespace, settings: Settings) -> tuple[PartList, list[InputFile]]:
    from capcheck import lists
    from capcheck.values import InputError

    if arguments.which != "order" and (arguments.reels is not None or arguments.boards is not None):
        raise InputError.at(
            "command line", "--boards and --reels are for the order", remedy=f"leave them out with {arguments.which}"
        )
    if arguments.which == "nozzles":
        return _nozzles(arguments, settings)
    board = _board(arguments, settings)
    if arguments.which == "order":
        from capcheck.planning import read_containers

        reels = None if arguments.reels is None else read_containers(arguments.reels)
        table = lists.losses_in_force(settings.configuration)
        return lists.order_list(board, arguments.boards or 1, per_reel=reels, table=table), list(board.inputs)
    make = {"pin-1": lists.pin_1_list, "handling": lists.handling_list, "test-points": lists.probing_list}
    return make[arguments.which](board), list(board.inputs)


def _board(arguments: argparse.Namespace, settings: Settings) -> Board:
    from capcheck.checking import prepare, read_prepared

    return read_prepared(
        prepare(settings, None), placements=arguments.placements, bom=arguments.bom, outline=arguments.outline
    )


def _nozzles(arguments: argparse.Namespace, settings: Settings) -> tuple[PartList, list[InputFile]]:
    from capcheck.checking import check_as_settled, devices_of
    from capcheck.lists import nozzle_list
    from capcheck.values import InputError

    devices = devices_of(settings)
    if devices is None:
        raise InputError.at("--line", "is needed: nozzles stand in the profiles of its machines", remedy="name a line")
    report = check_as_settled(
        settings, devices, placements=arguments.placements, bom=arguments.bom, outline=arguments.outline
    )
    return nozzle_list(report), list(report.inputs)


COMMANDS: Final = (
    Command("lists", "list what to order, nozzles, pin 1, handling or test points of a board", _arguments, _run),
)
