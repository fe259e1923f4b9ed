"""``part``: how the body of one part was found, from every reading of its names to each number taken."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING, Final

from capcheck.commands.command import (
    Command,
    add_inputs,
    add_settling,
    configuration_for,
    settings_of,
    warn_of_not_obeyed,
)
from capcheck.commands.output import add_format, add_output, deliver, deliver_json, width_for
from capcheck.values import InputError, Place, nearest, visible

if TYPE_CHECKING:
    from capcheck.model import Board, PartName
    from capcheck.packages import Library, Options, Witnesses
    from capcheck.shop import Settings

_TEXTS: Final = ("part_number", "footprint", "value", "description", "bom_package")


def _part_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "ref", metavar="REF", help="reference of the part, such as U3; with a store and no board, a part number"
    )
    add_inputs(parser)
    add_settling(parser)
    add_format(parser)
    add_output(parser)


def _part(arguments: argparse.Namespace) -> int:
    from capcheck.checking import libraries_of, prepare, read_prepared
    from capcheck.lexicon import cautions
    from capcheck.report import wrapped

    configuration = configuration_for(arguments)
    warn_of_not_obeyed(configuration)
    settings = settings_of(arguments, configuration, arguments.path)
    libraries = libraries_of(settings)
    if settings.store is not None and not (arguments.path or arguments.placements or settings.board):
        # Without a board the name is a part number's.
        if arguments.format == "json":
            deliver_json({**_kept_data(settings.store, arguments.ref), "cautions": cautions()}, arguments.output, [])
            return 0
        lines = [*_kept(settings, arguments.ref), "", *wrapped(cautions(), width_for(arguments.output))]
        deliver("".join(f"{visible(line)}\n" for line in lines), arguments.output, [settings.store])
        return 0
    board = read_prepared(
        prepare(settings, None), placements=arguments.placements, bom=arguments.bom, outline=arguments.outline
    )
    row = _row_of(board, arguments.ref)
    library = libraries.of_board(board.name, board.types)
    inputs: list[str | Path] = [*(file.path for file in board.inputs), *(path for path, _ in settings.files())]
    if arguments.format == "json":
        deliver_json({**_data(board, row, library), "cautions": cautions()}, arguments.output, inputs)
    else:
        kept = _kept(settings, _named(board, row).part_number)
        width = width_for(arguments.output)
        lines = [*_lines(board, row, library, width), *kept, "", *wrapped(cautions(), width)]
        text = "".join(f"{visible(line)}\n" for line in lines)
        deliver(text, arguments.output, inputs)
    return 0


def _kept(settings: Settings, number: str) -> list[str]:
    """Return what the shop's store knows of a part number; nothing without a store or a number."""
    if settings.store is None or not number:
        return []
    from capcheck.commands.library import lines_of_part
    from capcheck.store import open_store

    with open_store(settings.store, create=False, read_only=True) as store:
        return ["in the shop's store:", *(f"  {line}" for line in lines_of_part(store, number))]


def _kept_data(address: str, number: str) -> dict[str, object]:
    """Return what the shop's store knows of a part number, as data."""
    from capcheck.commands.library import data_of_part
    from capcheck.store import open_store

    with open_store(address, create=False, read_only=True) as store:
        return {"schema": "capcheck-part/1", "part_number": number, **data_of_part(store, number)}


def _row_of(board: Board, ref: str) -> int:
    """Return the row of the placements that holds the part *ref*. Raises :class:`~capcheck.values.InputError`."""
    placements = board.placements
    rows = [row for row, known in enumerate(placements.ref) if known == ref]
    for row in rows:
        if placements.part_type[row] >= 0:
            return row
    if rows:
        where = Place(placements.files[int(placements.file[rows[0]])], int(placements.row[rows[0]]))
        raise InputError.at(where, f'"{ref}" is no part: nothing is placed there, so it has no body')
    refs = [known for row, known in enumerate(placements.ref) if placements.part_type[row] >= 0]
    folded = [known for known in refs if known.casefold() == ref.casefold()]
    remedy = f'did you mean "{folded[0]}"?' if folded else nearest(ref, refs)
    raise InputError.at(
        "REF",
        f'"{ref}" is not among the placements of {board.name}',
        remedy=remedy or "capcheck read --full lists the parts",
    )


def _named(board: Board, row: int) -> PartName:
    return board.types[int(board.placements.part_type[row])]


def _place(board: Board, row: int) -> str:
    placements = board.placements
    return str(Place(placements.files[int(placements.file[row])], int(placements.row[row])))


def _lines(board: Board, row: int, library: Library | None, width: int) -> list[str]:
    from capcheck.packages import explain
    from capcheck.report import without_folders, witness_lines, wrapped

    name = _named(board, row)
    files = {item.path for item in board.inputs}
    lines = [f"{board.placements.ref[row]} ({_place(board, row)})"]
    if not board.placements.fitted[row]:
        lines.append("not fitted")
    if name.doubt:
        lines.append(f"the columns of {name.doubt} may have shifted: what follows proves nothing until it is corrected")
    for number, known_as in enumerate(_known_as(name), start=1):
        if name.others:
            lines.append(f"as {known_as.where} has it ({number} of {len(name.others) + 1}; any of them may be right)")
        lines += [f"  {field.replace('_', ' ')}: {text}" for field in _TEXTS if (text := getattr(known_as, field))]
        lines += witness_lines(_witnesses(board, row, known_as, library))
        for line in explain(known_as, **_options(board, library)):
            indent = line[: len(line) - len(line.lstrip())]
            lines += wrapped(line.strip(), width, indent, f"{indent}    ")
    mounting = _mounting_stated(board, row)
    if mounting is not None:
        lines.append(f"board.toml: mounting {mounting}, whatever the names say")
    return [without_folders(line, files) for line in lines]


def _data(board: Board, row: int, library: Library | None) -> dict[str, object]:
    name, placements = _named(board, row), board.placements
    first, *others = _known_as(name)
    return {
        "schema": "capcheck-part/1",
        "ref": placements.ref[row],
        "file": placements.files[int(placements.file[row])],
        "row": int(placements.row[row]),
        "fitted": bool(placements.fitted[row]),
        "texts": {field: getattr(name, field) for field in _TEXTS},
        **_known_data(board, row, first, library),
        "others": [
            {"texts": {field: getattr(other, field) for field in _TEXTS}, **_known_data(board, row, other, library)}
            for other in others
        ],
        "mounting_stated": _mounting_stated(board, row),
    }


def _known_data(board: Board, row: int, name: PartName, library: Library | None) -> dict[str, object]:
    from msgspec import to_builtins

    from capcheck.packages import explain_data

    found = _witnesses(board, row, name, library)
    return {
        **explain_data(name, **_options(board, library)),
        "witnesses": [to_builtins(witness) for witness in found.witnesses],
        "silent": list(found.silent),
        "counts": found.counts,
        "settle": [to_builtins(settling) for settling in found.settle],
    }


def _known_as(name: PartName) -> list[PartName]:
    """Return what each line of the BOM says of a part that several name; else the part alone."""
    from msgspec.structs import replace

    return [replace(name, others=()), *name.others]


def _options(board: Board, library: Library | None) -> Options:
    stated = board.manifest
    return {"types": board.types, "size_codes": stated.size_codes, "library": library, "prefer": stated.prefer}


def _witnesses(board: Board, row: int, name: PartName, library: Library | None) -> Witnesses:
    from capcheck.checking import parts_of_types
    from capcheck.packages import witnesses_of

    refs = parts_of_types(board)[int(board.placements.part_type[row])]
    return witnesses_of(name, refs=refs, board=board.name, **_options(board, library))


def _mounting_stated(board: Board, row: int) -> str | None:
    """Return the mounting that board.toml states for a row's reference; None where it states none."""
    from fnmatch import fnmatchcase

    ref = board.placements.ref[row]
    return next((m for pattern, m in board.manifest.mounting.items() if fnmatchcase(ref, pattern)), None)


COMMANDS: Final = (
    Command(
        "part",
        "tell how the body of one part was found: what each source says, what counts, and why",
        _part_arguments,
        _part,
    ),
)
