"""A copy of what a store knows of parts, as a file that needs neither its server nor a log beside it.

A process that may reach no network and write nothing outside its folder looks parts up in it.
"""

from __future__ import annotations

import contextlib
import os
import sqlite3
from pathlib import Path
from typing import TYPE_CHECKING, Final

from sqlalchemy import insert, select

from capcheck.store.opening import database_at, told
from capcheck.store.tables import (
    ANSWER,
    BOARD,
    CUSTOMER,
    FIGURE,
    GIVEN,
    PART,
    QUESTION,
    RESULT,
    REVISION,
    REVISION_FILE,
    USED_ON,
)
from capcheck.store.upgrades import create_tables

if TYPE_CHECKING:
    from capcheck.store.opening import Database

_TABLES: Final = (CUSTOMER, BOARD, GIVEN, PART, FIGURE, REVISION, REVISION_FILE, RESULT, USED_ON, QUESTION, ANSWER)
"""What is copied, each behind those that it names; quotes stay where they are."""
_AT_ONCE: Final = 2_000


def copy_to(database: Database, file: Path) -> None:
    """Write the copy to *file*, whole or not at all. Raises :class:`~capcheck.values.InputError`."""
    beside = file.with_name(f"{file.name}.{os.getpid()}")
    beside.unlink(missing_ok=True)
    copy = database_at(beside, create=True)
    try:
        with database.reading() as source, copy.writing() as target:
            create_tables(target, copy.address.shown)
            for table in _TABLES:
                for rows in source.execute(select(table)).mappings().partitions(_AT_ONCE):
                    target.execute(insert(table), [dict(row) for row in rows])
    finally:
        copy.close()
    # A file in one piece, which may be read where nothing may be written beside it.
    with told(copy.address), contextlib.closing(sqlite3.connect(beside)) as connection:
        connection.execute("PRAGMA journal_mode = DELETE")
    beside.replace(file)
