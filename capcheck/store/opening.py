"""A store is opened: the file or server found, its version looked at, and what fails there said in words.

A database of SQLite is one file with a log of its own beside it while it is written (WAL): readers do not wait for a
writer, and a writer waits for another. On PostgreSQL the same statements run.
"""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Final
from urllib.parse import quote

from capcheck.store.address import HOW_TO_INSTALL, Address, read_address
from capcheck.store.records import ImpossibleError
from capcheck.store.upgrades import LATEST, create_tables, step_of
from capcheck.values import InputError, refuse_special

if TYPE_CHECKING:
    from sqlalchemy import Connection, Engine

WAIT_S: Final = 20.0
"""Seconds that a writer waits for another."""
_MAPPED: Final = 1 << 30
"""Bytes of a file that is only read which are read in place: look-ups take a fifth less."""
_HEADER: Final = b"SQLite format 3\x00"
_WRITES: Final = "capcheck_writes"


class Database:
    """An opened database of whichever kind; what goes wrong in it is an :class:`InputError` with its address."""

    def __init__(self, address: Address, *, create: bool, read_only: bool, wait_s: float) -> None:
        self.address = address
        self.read_only = read_only
        self._wait_s = wait_s
        self._engine = _engine(address, "ro" if read_only else "rwc" if create else "rw", wait_s)

    @property
    def is_server(self) -> bool:
        """Whether several desks share it through a server."""
        return self.address.file is None

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """Give a connection whose statements all see one state."""
        with told(self.address, self._wait_s), self._engine.connect() as connection:
            if self.is_server:
                yield connection.execution_options(isolation_level="REPEATABLE READ", postgresql_readonly=True)
            else:
                yield connection

    @contextmanager
    def writing(self) -> Iterator[Connection]:
        """Give a connection whose statements are all written at the end, or none of them."""
        if self.read_only:
            raise InputError.at(self.address.shown, "the store is opened for reading alone")
        with told(self.address, self._wait_s), self._engine.connect() as connection:
            writer = connection.execution_options(**{_WRITES: True})
            with writer.begin():
                yield writer

    def close(self) -> None:
        """Let go of the file or the server."""
        self._engine.dispose()


def opened(address: str | Path, *, create: bool = False, read_only: bool = False, wait_s: float = WAIT_S) -> Database:
    """Return the database at *address*, of this program's version; with *create* a new one is made where there is none.

    Raises :class:`~capcheck.values.InputError` where it is not there, damaged, locked for longer than *wait_s* seconds,
    not readable, or of another version.
    """
    database = database_at(address, create=create, read_only=read_only, wait_s=wait_s)
    try:
        with database.reading() as connection:
            step = step_of(connection)
        if step is None and create and not read_only:
            with database.writing() as connection:
                step = create_tables(connection, database.address.shown)
        refuse_version(step, database.address)
    except BaseException:
        database.close()
        raise
    return database


def database_at(
    address: str | Path, *, create: bool = False, read_only: bool = False, wait_s: float = WAIT_S
) -> Database:
    """Return the database at *address* of whichever version."""
    try:
        read = read_address(address)
    except ImportError:
        raise InputError.at(
            str(address), "needs SQLAlchemy, which is not installed", "the store is read through it", HOW_TO_INSTALL
        ) from None
    if read.file is not None:
        _look_at(read.file, create=create and not read_only)
    return Database(read, create=create, read_only=read_only, wait_s=wait_s)


def _look_at(file: Path, *, create: bool) -> None:
    """Raise :class:`InputError` for a file that is no store, before anything is written beside it."""
    start = b""
    try:
        refuse_special(file)
        with file.open("rb") as opened_file:
            start = opened_file.read(len(_HEADER))
    except FileNotFoundError:
        if create and file.parent.is_dir():
            return
        why = "the folder it is to lie in is not there" if create else "what the shop knows of parts would be missing"
        remedy = f"correct the path, or make one: capcheck library create --store {file}"
        raise InputError.at(str(file), "there is no store", why, remedy) from None
    except OSError as error:
        raise InputError.at(
            str(file), f"the store cannot be read: {error.strerror or error}", remedy="check who may read it"
        ) from None
    if start and start != _HEADER:
        raise InputError.at(
            str(file),
            "is not a store",
            "it is no database of SQLite, or its beginning is damaged",
            "correct the path, or put back a copy",
        )


def refuse_version(step: int | None, address: Address) -> None:
    """Raise :class:`InputError` for a store that is not there, or of another version than this program's."""
    if step is None:
        raise InputError.at(
            address.shown,
            "holds no store",
            "none of its tables are there",
            f"make one: capcheck library create --store {address.shown}; or correct the address",
        )
    if step > LATEST:
        raise InputError.at(
            address.shown,
            f"the store is of a newer version ({step}; this program knows {LATEST})",
            "what it holds could be misread",
            "install the newer capcheck: pip install --upgrade capcheck",
        )
    if step < LATEST:
        raise InputError.at(
            address.shown,
            f"the store is of an older version ({step}; this program works with {LATEST})",
            "older programs cannot read it after the upgrade, so that is yours to decide",
            f"upgrade it: capcheck library upgrade --store {address.shown}",
        )


def _engine(address: Address, mode: str, wait_s: float) -> Engine:
    from sqlalchemy import QueuePool, create_engine, event

    if address.file is None:
        given = {"connect_timeout": 10, "options": f"-c lock_timeout={wait_s * 1000:.0f}"}
        try:
            return create_engine(address.url, connect_args=given)
        except ImportError:
            raise InputError.at(
                address.shown,
                "needs psycopg, which is not installed",
                "the server is reached through it",
                HOW_TO_INSTALL,
            ) from None
    file = address.file
    engine = create_engine("sqlite://", creator=lambda: _connected(file, mode, wait_s), poolclass=QueuePool)

    @event.listens_for(engine, "begin")
    def _begin(connection: Connection) -> None:
        # A writer that began as a reader would be refused where another wrote meanwhile.
        writes = connection.get_execution_options().get(_WRITES, False)
        connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")

    return engine


def _may_write(path: Path) -> bool:
    return os.access(path, os.W_OK, effective_ids=os.access in os.supports_effective_ids)


def _connected(file: Path, mode: str, wait_s: float) -> sqlite3.Connection:
    opened_as = mode
    if mode == "ro":
        log = file.with_name(f"{file.name}-wal")
        may_log = _may_write(file.parent)
        # Who may not write beside the file makes no log of its own; without anybody's log the file does not change. Who
        # may is let in as a writer is, and takes its log away again.
        alone = not may_log and not (log.exists() and log.stat().st_size)
        opened_as = "ro&immutable=1" if alone else "rw" if may_log and _may_write(file) else "ro"
    connection = sqlite3.connect(
        f"file:{quote(str(file.absolute()))}?mode={opened_as}",
        uri=True,
        timeout=wait_s,
        isolation_level=None,
        check_same_thread=False,
    )
    try:
        if mode == "ro":
            connection.execute("PRAGMA query_only = ON")
            connection.execute(f"PRAGMA mmap_size = {_MAPPED}")
        else:
            connection.execute("PRAGMA journal_mode = WAL")
        connection.execute("PRAGMA synchronous = FULL")
        connection.execute("PRAGMA foreign_keys = ON")
    except BaseException:
        connection.close()
        raise
    return connection


_SAID: Final = {
    "locked": (
        "the store is locked",
        "another program is writing to it for more than {wait:g} s",
        "wait until that is done, or end it; then run this again",
    ),
    "readonly": (
        "the store cannot be written",
        "the file or its folder is read-only",
        "give yourself the right to write there, or name another store",
    ),
    "denied": (
        "the store cannot be written",
        "this user of the database has no right to",
        "ask whoever runs the server for the right to write",
    ),
    "damaged": (
        "the store is damaged",
        "what it says cannot be relied on",
        "put back a copy; what can be saved: sqlite3 FILE .recover",
    ),
    "full": ("the store cannot be written", "the disk is full", "make room, then run this again"),
    "unreachable": (
        "the store cannot be opened",
        "{reason}",
        "check the address, and that the server is running and lets you in",
    ),
}
_SIGNS: Final = (
    ("locked", ("database is locked", "lock timeout", "database table is locked")),
    ("readonly", ("readonly database", "read-only transaction")),
    ("denied", ("permission denied", "must be owner")),
    (
        "damaged",
        (
            "malformed",
            "not a database",
            "no such table",
            "no such column",
            "disk i/o error",
            "corrupt",
            "could not decode",
        ),
    ),
    ("full", ("disk is full", "no space left")),
)


@contextmanager
def told(address: Address, wait_s: float = WAIT_S) -> Iterator[None]:
    """Raise :class:`InputError` at the store for what its database refuses, and for values in it that cannot be."""
    from msgspec import MsgspecError
    from sqlalchemy.exc import DBAPIError, IntegrityError, OperationalError

    try:
        yield
    except ImpossibleError:
        raise
    except (ValueError, TypeError, LookupError, ArithmeticError, MsgspecError) as error:
        # What is asked and given was looked at before: whatever is no number, text or time came out of the store.
        what, why, remedy = _SAID["damaged"]
        raise InputError.at(address.shown, what, f"{why}: {type(error).__name__}: {error}"[:200], remedy) from error
    except (DBAPIError, sqlite3.Error) as error:
        if isinstance(error, IntegrityError):
            raise
        reason = str(error.orig if isinstance(error, DBAPIError) else error).strip().partition("\n")[0]
        # A server that refuses a connection says why in the words of its own system.
        at_all = isinstance(error, OperationalError | sqlite3.OperationalError)
        for key, signs in (*_SIGNS, *((("unreachable", ("",)),) if at_all else ())):
            if any(sign in reason.casefold() for sign in signs):
                what, why, remedy = _SAID[key]
                raise InputError.at(address.shown, what, why.format(wait=wait_s, reason=reason), remedy) from error
        raise InputError.at(
            address.shown, "the store cannot be used", reason, "look whether the database is whole"
        ) from error
