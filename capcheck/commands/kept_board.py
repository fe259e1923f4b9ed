"""A board that was checked is kept in the shop's store: revision, parts, what its files state, result, questions."""

from __future__ import annotations

import datetime as dt
import hashlib
import os
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Final

from msgspec import Struct

from capcheck.values import InputError, counted, visible

if TYPE_CHECKING:
    from collections.abc import Sequence

    from capcheck.checking import Report
    from capcheck.shop import Settings
    from capcheck.store import Question, Result, Revision, Statement, Used

_OF_THE_SHOP: Final = frozenset(
    {"machine", "line", "rules", "facts", "configuration", "library", "answers", "baseline"}
)
"""Roles of files that are none of the customer's."""


class ToKeep(Struct, frozen=True):
    """What the store at *address* is told of a board that was checked; it can be sent from one process to another."""

    address: str
    revision: Revision
    used: Sequence[Used]
    result: Result
    questions: Sequence[Question]
    offered: Sequence[Statement]
    """What the board's files state, for its customer's parts: it is compared with the store, and not written."""


def who_brings_it(named: str) -> str:
    """Return who does something: the one *named*, else the user of this machine. Raises InputError where nobody is."""
    who = named or os.environ.get("USER") or os.environ.get("USERNAME") or ""
    if not who:
        raise InputError.at("--by", "is needed: nobody is named who does this", remedy="write --by NAME")
    return who


def refuse_keep(settings: Settings) -> None:
    """Raise :class:`~capcheck.values.InputError` where there is no store to keep a board in."""
    if settings.store is None:
        raise InputError.at(
            "--keep", "has nowhere to keep the board: no store is named", remedy="name one: --store parts.db"
        )


def what_to_keep(report: Report, settings: Settings, who: str, label: str) -> ToKeep:
    """Return what is kept of a board as it was checked by its own *settings*: revision, parts, result, questions."""
    from capcheck.answers import questions_to_keep
    from capcheck.store import BoardKey, Given, Result, Revision, Scope, used_parts, worth_offering
    from capcheck.version import __version__

    board = BoardKey(report.board.name, settings.customer)
    now = dt.datetime.now(dt.UTC).replace(microsecond=0)
    files = sorted((Path(f.path).name, f.role, f.sha256) for f in report.inputs if f.role not in _OF_THE_SHOP)
    whole = hashlib.sha256("\n".join(f"{role} {sha256}" for _, role, sha256 in files).encode()).hexdigest()
    given = Given(who, now, "entered")
    used = used_parts(report.board)
    counts = {
        "pass": report.totals.passed,
        "warn": report.totals.warned,
        "fail": report.totals.failed,
        "undecided": report.totals.undecided,
        "waived": report.totals.waived,
    }
    line = "" if report.line is None else report.line.name
    result = Result(board, whole, line, report.verdict, counts, given, __version__)
    return ToKeep(
        address=settings.store or "",
        revision=Revision(board, whole, tuple(files), given, label),
        used=used,
        result=result,
        questions=list(questions_to_keep(report).values()),
        offered=worth_offering(used, given, Scope(settings.customer)),
    )


def keep_board(one: ToKeep) -> None:
    """Write a board into the store; say on standard error what is new in it. Raises InputError."""
    from capcheck.store import open_store

    board = one.revision.board
    with open_store(one.address) as store:
        is_new = store.keep_revision(one.revision, one.used, [one.result])
        store.ask(board, one.questions, one.revision.given)
        offered = store.changes(one.offered)
        told = f"kept in {store.address}: {board.name}, {'a new revision' if is_new else 'a revision known'}"
    fresh = sum(change.kind != "same" for change in offered)
    if fresh:
        told += f"; its files state {counted(fresh, 'figure')} the store does not have: capcheck library offer BOARD"
    sys.stderr.write(f"{visible(told)}\n")
