"""``init`` and ``schema``: files to fill in, and their JSON Schemas for editors."""

from __future__ import annotations

import argparse
from collections.abc import Mapping
from pathlib import Path
from typing import Final

from capcheck.commands.command import (
    Command,
    add_config,
    add_store,
    configuration_for,
    settings_of,
    warn_of_not_obeyed,
)
from capcheck.commands.output import deliver_json, deliver_text
from capcheck.commands.written_file import refuse_output, write_file


def _init_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "folder", nargs="?", type=Path, default=Path(), metavar="FOLDER", help="where to write; default: here"
    )
    parser.add_argument(
        "--board",
        dest="board_folder",
        metavar="PATH",
        help="write a package library of this board's unknown parts, to be filled in, instead",
    )
    parser.add_argument(
        "--library",
        action="append",
        default=[],
        metavar="FILE",
        help="with --board: package library of the shop, whose parts are known",
    )
    parser.add_argument(
        "--demo", action="store_true", help="write the demo instead: a board, lines and machines, rules, all invented"
    )
    parser.add_argument("--force", action="store_true", help="overwrite files that are there")
    add_config(parser)
    add_store(parser)


def _init(arguments: argparse.Namespace) -> int:
    from capcheck.values import InputError, Place, Problem

    if arguments.board_folder and arguments.demo:
        raise InputError.at("--demo", "writes no library of a board", remedy="leave out --demo or --board")
    if arguments.library and not arguments.board_folder:
        told = "tells which parts of a board are known, and no board is named"
        raise InputError.at("--library", told, remedy="add --board, or leave out --library")
    texts: Mapping[str, str | bytes] = (
        _library(arguments) if arguments.board_folder else _demo() if arguments.demo else _templates(arguments.folder)
    )
    folder: Path = arguments.folder
    taken = [name for name in texts if (folder / name).exists()]
    if taken and not arguments.force:
        raise InputError(
            Problem(Place(str(folder / name)), "is there already", "init overwrites nothing", "move it, or use --force")
            for name in taken
        )
    for name in texts:  # all of them before anything is made
        if (folder / name).parent.is_dir():
            refuse_output(folder / name)
    try:
        for beside in {(folder / name).parent for name in texts}:
            beside.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        reason = f"cannot be made: {error.strerror or error}"
        raise InputError.at(str(folder), reason, remedy="name a folder that is there or can be made") from None
    for name in texts:
        refuse_output(folder / name)
    for name, text in texts.items():
        write_file(folder / name, text)
        deliver_text(f"{folder / name}\n")
    if arguments.demo:
        board, line, rules = (folder / name for name in _TRY)
        deliver_text(f"try: capcheck check {board} --line {line} --rules {rules}\n")
    elif f"{_BOARD}/board.toml" in texts:
        deliver_text(f"try: put a customer's files into {folder / _BOARD}, then: capcheck check {folder / _BOARD}\n")
    return 0


def _library(arguments: argparse.Namespace) -> dict[str, str]:
    """Return the library of a board's parts that are unknown by all that the shop has settled and knows already."""
    from capcheck.checking import parts_of_types, prepare, read_prepared
    from capcheck.packages import library_template

    configuration = configuration_for(arguments)
    warn_of_not_obeyed(configuration)
    read = read_prepared(prepare(settings_of(arguments, configuration, arguments.board_folder), None))
    refs = parts_of_types(read)
    types = [read.types[index] for index in refs]
    bodies = [read.bodies[index] for index in refs]
    return {"packages.csv": library_template(types, bodies, refs=list(refs.values()), board=read.name)}


_TRY: Final = ("irrigation-controller", "lines/mixed.line.toml", "rules")


def _demo() -> dict[str, bytes]:
    from capcheck.shop import demo

    return demo()


_BOARD: Final = "my-board"


def _templates(folder: Path) -> dict[str, str]:
    """Return the files to fill in: of a folder that holds a board the board's own, since no other is obeyed there."""
    from capcheck.shop import templates

    texts = templates()
    board = texts.pop("board.toml")
    if _holds_a_board(folder):
        return {"board.toml": board} | {name: text for name, text in texts.items() if name.endswith(_SCHEMA_OF_BOARD)}
    return {f"{_BOARD}/board.toml": board.replace("#:schema ./", "#:schema ../", 1), **texts}


_SCHEMA_OF_BOARD: Final = "/board.schema.json"


def _holds_a_board(folder: Path) -> bool:
    from capcheck.checking import prepare, read_prepared
    from capcheck.shop import Settings
    from capcheck.values import InputError

    try:
        read_prepared(prepare(Settings(), None), str(folder))
    except InputError:
        return False
    return True


_PRINTED: Final = {
    "report": "report_schema",
    "diff": "difference_schema",
    "plan": "plan_schema",
    "compare": "comparison_schema",
}
"""By what is printed as JSON, the function that gives its schema."""
SCHEMAS: Final = ("machine", "line", "board", "configuration", "rules", *_PRINTED)


def _schema_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("what", choices=SCHEMAS, help="which file the schema is for")


def _schema(arguments: argparse.Namespace) -> int:
    if arguments.what in _PRINTED:
        from capcheck import report

        deliver_json(getattr(report, _PRINTED[arguments.what])())
    else:
        from capcheck.shop import schema_of_file

        deliver_json(schema_of_file(arguments.what))
    return 0


COMMANDS: Final = (
    Command(
        "init",
        "write commented files to fill in: board, machine, line, a library of unknown parts; or the demo",
        _init_arguments,
        _init,
    ),
    Command("schema", "print the JSON Schema of a file format, for editors", _schema_arguments, _schema),
)
