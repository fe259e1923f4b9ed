"""A board that was checked is kept in the shop's store: revision, parts, what its files state, result, questions."""

from __future__ import annotations

import datetime as dt
import hashlib
import os
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Final

from capcheck.values import InputError, counted, visible

if TYPE_CHECKING:
    from capcheck.checking import Report
    from capcheck.shop import Settings
    from capcheck.store import Scope

_OF_THE_SHOP: Final = frozenset({"machine", "line", "rules", "facts", "configuration", "library", "baseline"})
"""Roles of files that are none of the customer's."""


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


def keep_board(report: Report, settings: Settings, who: str, label: str) -> None:
    """Write the revision, its parts and the result into the store; say on standard error what is new in it."""
    from capcheck.answers import questions_to_keep
    from capcheck.store import BoardKey, Given, Result, Revision, open_store, used_parts, worth_offering
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
    with open_store(settings.store or "") as store:
        is_new = store.keep_revision(Revision(board, whole, tuple(files), given, label), used, [result])
        store.ask(board, list(questions_to_keep(report).values()), given)
        offered = store.changes(worth_offering(used, given, settings_scope(settings)))
        told = f"kept in {store.address}: {report.board.name}, {'a new revision' if is_new else 'a revision known'}"
    fresh = sum(change.kind != "same" for change in offered)
    if fresh:
        told += f"; its files state {counted(fresh, 'figure')} the store does not have: capcheck library offer BOARD"
    sys.stderr.write(f"{visible(told)}\n")


def settings_scope(settings: Settings) -> Scope:
    """Return for whom what a board's files state would hold: its customer, or everyone."""
    from capcheck.store import Scope

    return Scope(settings.customer)
