"""``library``: the shop's store of parts: made, filled from lists and from boards, told, and written as a list."""

from __future__ import annotations

import argparse
import datetime as dt
import math
from pathlib import Path
from typing import TYPE_CHECKING, Final

from capcheck.commands.command import Command, add_config, add_store, configuration_for, warn_of_not_obeyed
from capcheck.commands.kept_board import who_brings_it
from capcheck.commands.output import deliver, deliver_text
from capcheck.values import InputError, counted

if TYPE_CHECKING:
    from collections.abc import Sequence

    from capcheck.shop import Settings
    from capcheck.store import Change, Figure, Given, Source, Statement, Store

_WHAT: Final = {
    "create": "make a store where there is none",
    "upgrade": "bring an older store to this program's version",
    "import": "add what package libraries state (FILE …); conflicts are shown, and nothing is written until you say"
    " which side holds",
    "export": "write what the store knows as a package library in CSV",
    "show": "tell what is known of a part (NUMBER …): figures, who stated them, what they replaced, boards",
    "offer": "show what the customer's files of a board state of its parts (PATH …), or keep it with --keep",
}
_HOLDS: Final = ("file", "store")
"""Which side holds where a list and the store differ."""


def _arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("what", choices=_WHAT, help="; ".join(f"{name}: {text}" for name, text in _WHAT.items()))
    parser.add_argument("names", nargs="*", metavar="NAME", help="files, part numbers or boards, as the action needs")
    add_store(parser)
    add_config(parser)
    parser.add_argument("--board", metavar="NAME", default="", help="import, offer: the board that it holds for alone")
    parser.add_argument(
        "--by", metavar="WHO", default="", help="import, offer: who brings it; default: your name on this machine"
    )
    parser.add_argument("--link", metavar="TEXT", default="", help="import: data sheet that shows it")
    parser.add_argument(
        "--holds",
        choices=_HOLDS,
        help="import, offer: which side holds where the two differ; without it nothing is written where they do",
    )
    parser.add_argument("--keep", action="store_true", help="offer: write it into the store")
    parser.add_argument("--preview", action="store_true", help="import: show what would change, and write nothing")
    parser.add_argument("--output", metavar="FILE", type=Path, help="export: write to this file")


def _run(arguments: argparse.Namespace) -> int:
    from capcheck.shop import settle

    configuration = configuration_for(arguments)
    warn_of_not_obeyed(configuration)
    settings = settle(configuration, store=arguments.store, customer=arguments.customer)
    if settings.store is None:
        raise InputError.at(
            "--store", "is needed: no store is named", remedy='name it here, or in capcheck.toml: store = "parts.db"'
        )
    _refuse_names(arguments)
    actions = {
        "create": _create,
        "upgrade": _upgrade,
        "import": _import,
        "export": _export,
        "show": _show,
        "offer": _offer,
    }
    return actions[arguments.what](arguments, settings)


def _refuse_names(arguments: argparse.Namespace) -> None:
    needed = {"import": "a package library", "show": "a part number", "offer": "a board's folder"}.get(arguments.what)
    if needed is None and arguments.names:
        raise InputError.at(arguments.names[0], f"is one name too many: library {arguments.what} takes none")
    if needed is not None and not arguments.names:
        raise InputError.at(f"library {arguments.what}", "names nothing", remedy=f"name {needed} behind it")


def _address(settings: Settings) -> str:
    return settings.store or ""


def _create(_: argparse.Namespace, settings: Settings) -> int:
    from capcheck.store import open_store

    with open_store(_address(settings)) as store:
        deliver_text(f"{store.address}: the store is ready\n")
    return 0


def _upgrade(_: argparse.Namespace, settings: Settings) -> int:
    from capcheck.store import upgrade_store

    before, after = upgrade_store(_address(settings))
    told = f"upgraded from version {before} to {after}" if before < after else f"is of version {after} already"
    deliver_text(f"{told}\n")
    return 0


def _import(arguments: argparse.Namespace, settings: Settings) -> int:
    from capcheck.store import Scope, open_store, statements_of_file

    given, scope = _given(arguments, "imported"), Scope(settings.customer, arguments.board)
    statements = [s for name in arguments.names for s in statements_of_file(name, given, scope)]
    with open_store(_address(settings)) as store:
        return _merged(store, statements, arguments, write=not arguments.preview)


def _offer(arguments: argparse.Namespace, settings: Settings) -> int:
    from capcheck.checking import Libraries, read_board
    from capcheck.model import Topic
    from capcheck.store import Scope, open_store, used_parts, worth_offering

    statements = []
    for name in arguments.names:
        own = settings.of_board(name)
        scope = Scope(own.customer, arguments.board)
        board = read_board(name, libraries=Libraries(()), stated=own.board_file)
        if any(d.topic is Topic.SIZE_UNIT and d.open for d in board.decisions):
            raise InputError.at(
                name, "states sizes in a unit that is open", "in the wrong unit they would be false for every board"
            )
        given = _given(arguments, "stated", board.name)
        statements += worth_offering(used_parts(board), given, scope, board=board.name)
    with open_store(_address(settings)) as store:
        return _merged(store, statements, arguments, write=arguments.keep)


def _given(arguments: argparse.Namespace, source: Source, board: str = "") -> Given:
    from capcheck.store import Given

    who = who_brings_it(arguments.by or board)
    now = dt.datetime.now(dt.UTC).replace(microsecond=0)
    return Given(who, now, source, link=arguments.link)


def _merged(store: Store, statements: Sequence[Statement], arguments: argparse.Namespace, *, write: bool) -> int:
    """Write what is new, and what differs where that side holds; return 1 where the sides differ and none does."""
    changes = store.changes(statements)
    differ = [change for change in changes if change.kind == "other"]
    lines = [_told(change) for change in changes if change.kind != "same"]
    counts = {kind: sum(c.kind == kind for c in changes) for kind in ("new", "other", "same")}
    told = f"{counted(counts['new'], 'new figure')}, {counts['other']} different, {counts['same']} the same"
    undecided = bool(differ) and arguments.holds is None
    if not write:
        lines.append(f"{told}; nothing was written")
    elif undecided:
        lines += [told, "nothing was written: say which side holds where they differ: --holds file, or --holds store"]
    else:
        store_holds = arguments.holds == "store"
        held = _held(differ) if store_holds and arguments.what == "offer" else []
        store.record([*_without(statements, differ), *held] if store_holds else statements)
        written = bool(counts["new"]) or bool(held) or (bool(differ) and not store_holds)
        lines.append(f"{told}; {f'written to {store.address}' if written else 'nothing to write'}")
        if differ and store_holds:
            of = counted(len(differ), "figure")
            lines.append(f"the store's holds in {of}; a list that is used beside it still differs, and both count:")
            lines.append('correct the list, write it anew (capcheck library export), or set prefer = "store"')
    deliver_text("".join(f"{line}\n" for line in lines))
    return int(undecided)


def _held(differ: Sequence[Change]) -> list[Statement]:
    """Return the store's own figures again, as held by who was shown what the files of a board say against them."""
    from capcheck.store import Given, Statement

    return [
        Statement(
            change.key,
            {change.field: change.old.value},
            Given(change.given.who, change.given.when, "held", change.given.where, change.old.given.link),
            change.scope,
        )
        for change in differ
        if change.old is not None
    ]


def _without(statements: Sequence[Statement], differ: Sequence[Change]) -> list[Statement]:
    """Return the statements without the figures that differ from the store's."""
    from msgspec.structs import replace

    left = {(change.key.compared, change.scope, change.field) for change in differ}
    found = []
    for statement in statements:
        at = statement.key.compared, statement.scope
        values = {field: value for field, value in statement.values.items() if (*at, field) not in left}
        if values:
            found.append(replace(statement, values=values))
    return found


def _told(change: Change) -> str:
    """Return a change as a line: the part, the field, both figures, and who stands behind each."""
    field = change.field.replace("_", " ")
    new = f"{_shown(change.field, change.new)} ({_who(change.given)})"
    whose = "" if str(change.scope) == "everyone" else f" [{change.scope}]"
    if change.old is None or change.kind == "new":
        return f"new        {change.key}{whose}: {field} {new}"
    old = f"{_shown(change.field, change.old.value)} ({_who(change.old.given)})"
    return f"different  {change.key}{whose}: {field} {new}; the store has {old}"


def _shown(field: str, value: object) -> str:
    from capcheck.packages import measured_in
    from capcheck.values import Interval, show

    if isinstance(value, Interval):
        return show(value.low, value.high, measured_in(field))
    return ("yes" if value else "no") if isinstance(value, bool) else str(value)


def _who(given: Given) -> str:
    parts = [f"{given.source} by {given.who}", given.date, given.where, given.link]
    return ", ".join(part for part in parts if part)


def _export(arguments: argparse.Namespace, settings: Settings) -> int:
    import sys

    from capcheck.store import Scope, as_csv, open_store
    from capcheck.values import visible

    scope = Scope(settings.customer, arguments.board)
    with open_store(_address(settings), create=False, read_only=True) as store:
        text, left_out = as_csv(store.figures(), scope)
        inputs = [settings.store] if settings.store else []
    deliver(text, arguments.output, inputs)
    if left_out:
        figures = counted(left_out, "figure")
        told = f"{figures} not written: kept for others than {scope}, or without an upper bound"
        sys.stderr.write(f"{visible(told)}\n")
    return 0


def _show(arguments: argparse.Namespace, settings: Settings) -> int:
    from capcheck.store import open_store

    with open_store(_address(settings), create=False, read_only=True) as store:
        lines = [line for number in arguments.names for line in lines_of_part(store, number)]
    deliver_text("".join(f"{line}\n" for line in lines))
    return 0


def lines_of_part(store: Store, number: str) -> list[str]:
    """Return what the store knows of a part by its maker's number, for a reader: figures, history, boards."""
    from capcheck.store import PartKey

    key = PartKey(part_number=number)
    past, used = store.history(key), store.used_on([key])
    lines = [number]
    if not past and not used:
        return [number, "  the store knows nothing of it"]
    lines += [_line(figure) for figure in past if figure.superseded is None]
    lines += [_line(figure) for figure in past if figure.superseded is not None]
    for values, said in _said_against(store, number):
        each = ", ".join(f"{field.replace('_', ' ')} {_shown(field, value)}" for field, value in values.items())
        settled = "either counts until it is settled: capcheck library offer PATH --keep --holds store, or file"
        lines.append(f"  against it: {each}, {said}; {settled}")
    boards: dict[str, list[str]] = {}
    for use in used:
        called = f"{use.board.name}{f' of {use.board.customer}' if use.board.customer else ''}"
        boards.setdefault(called, []).append(f"{use.label or use.given.date} ({len(use.used.refs)} a board)")
    lines += [f"  used on {board}: {', '.join(revisions)}" for board, revisions in boards.items()]
    return lines


def _said_against(store: Store, number: str) -> list[tuple[dict[str, object], str]]:
    """Return what the files of kept boards state that the figures of a part exclude, and who kept them."""
    from capcheck.lexicon import sentence
    from capcheck.model import PartName
    from capcheck.store import FIELDS

    name = PartName(part_number=number)
    return [
        ({f: value for f in FIELDS if f != "oriented" and (value := getattr(one, f)) is not None}, sentence(one.scheme))
        for one in store.library([name]).candidates(name)
        if one.is_unsettled
    ]


def data_of_part(store: Store, number: str) -> dict[str, object]:
    """Return the same as data: each figure that stands or stood, and the boards that use the part."""
    from capcheck.store import PartKey

    key = PartKey(part_number=number)
    return {
        "figures": [
            {
                "field": figure.field,
                "value": _as_data(figure.value),
                "for": str(figure.scope),
                "who": figure.given.who,
                "on": figure.given.date,
                "source": figure.given.source,
                "where": figure.given.where,
                "link": figure.given.link,
                "until": None if figure.superseded is None else figure.superseded.date().isoformat(),
            }
            for figure in store.history(key)
        ],
        "against": [
            {**{field: _as_data(value) for field, value in values.items()}, "said": said}
            for values, said in _said_against(store, number)
        ],
        "boards": [
            {
                "board": use.board.name,
                "customer": use.board.customer,
                "revision": use.label or use.given.date,
                "refs": list(use.used.refs),
            }
            for use in store.used_on([key])
        ],
    }


def _as_data(value: object) -> object:
    """Return a measure as its bounds, an open one as null."""
    from capcheck.values import Interval

    if not isinstance(value, Interval):
        return value
    return [end if math.isfinite(end) else None for end in (value.low, value.high)]


def _line(figure: Figure) -> str:
    whose = "" if str(figure.scope) == "everyone" else f" [{figure.scope}]"
    before = until = ""
    if figure.superseded is not None:
        before, until = "before: ", f", until {figure.superseded.date().isoformat()}"
    field = figure.field.replace("_", " ")
    return f"  {before}{field}: {_shown(figure.field, figure.value)}{whose} ({_who(figure.given)}{until})"


COMMANDS: Final = (
    Command("library", "keep what the shop knows about parts: fill, show, merge and write its store", _arguments, _run),
)
