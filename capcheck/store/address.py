"""Where a store is: a file of SQLite, or a database of PostgreSQL named by its address."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Final

from msgspec import Struct

from capcheck.values import InputError

if TYPE_CHECKING:
    from sqlalchemy import URL

_SERVERS: Final = ("postgresql", "postgres")
HOW_TO_INSTALL: Final = "pip install 'capcheck[store]'"


class Address(Struct, frozen=True):
    """Where a store is; *file* is None for a server. *shown* is safe to print: it holds no password."""

    url: URL
    shown: str
    file: Path | None


def is_server(text: str) -> bool:
    """Whether a store's address names a server, and no file."""
    return "://" in text


def read_address(text: str | Path) -> Address:
    """Return where a store is. Raises :class:`~capcheck.values.InputError` for an address of no known form."""
    from sqlalchemy import URL, make_url
    from sqlalchemy.exc import ArgumentError

    if isinstance(text, Path) or not is_server(text):
        return Address(URL.create("sqlite", database=str(text)), str(text), Path(text))
    scheme = text.partition("://")[0]
    if scheme not in _SERVERS:
        raise InputError.at(
            "store",
            f'"{scheme}://" is not an address of a store',
            "nothing is known of such a database",
            "name a file, or a server: postgresql://user@host/name",
        )
    try:
        url = make_url(text)
    except (ArgumentError, ValueError):
        # The text may hold a password and is not told.
        raise InputError.at(
            "store", "the server's address cannot be read", remedy="write it like postgresql://user@host/name"
        ) from None
    plain = {key: value for key, value in url.query.items() if "pass" not in key.casefold()}
    shown = URL.create("postgresql", url.username, None, url.host, url.port, url.database, plain)
    return Address(url.set(drivername="postgresql+psycopg"), shown.render_as_string(), None)
