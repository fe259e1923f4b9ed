"""A store of either kind: a file, and a database of a server that the tests start where none is named.

Figures: invented.
"""

from __future__ import annotations

import datetime as dt
import importlib.util
import os
import shutil
import tempfile
import uuid
from pathlib import Path

import pytest

from capcheck.store import Given, open_store

SERVER = "CAPCHECK_TEST_SERVER"
"""The environment variable that names a server of PostgreSQL on which databases may be made."""


def _module():
    spec = importlib.util.spec_from_file_location("server", Path(__file__).with_name("server.py"))
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="session")
def server_address():
    if SERVER in os.environ:
        yield os.environ[SERVER]
        return
    module = _module()
    if module.programs() is None:
        pytest.skip(module.MISSING)
    folder = Path(tempfile.mkdtemp(prefix="capcheck-server-"))
    folder.chmod(0o755)  # the server runs as a user of its own
    try:
        yield module.start(folder / "run")
        module.stop(folder / "run")
    finally:
        shutil.rmtree(folder, ignore_errors=True)


@pytest.fixture
def server_database(server_address):
    """The address of an empty database of the server."""
    import psycopg

    name = f"store_{uuid.uuid4().hex}"
    with psycopg.connect(server_address, autocommit=True) as connection:
        connection.execute(f"CREATE DATABASE {name}")
    first, _, rest = server_address.partition("?")
    yield f"{first.rpartition('/')[0]}/{name}?{rest}"
    with psycopg.connect(server_address, autocommit=True) as connection:
        connection.execute(f"DROP DATABASE {name} WITH (FORCE)")


@pytest.fixture(params=["file", "server"])
def address(request, tmp_path):
    """Where a store may be made, of either kind."""
    return str(tmp_path / "parts.db") if request.param == "file" else request.getfixturevalue("server_database")


@pytest.fixture
def store(address):
    with open_store(address) as opened:
        yield opened


@pytest.fixture
def given():
    """Who says something, on a day of its own."""

    def said(who="Ada", day=1, *, source="answered", where="", link=""):
        return Given(who, dt.datetime(2026, 3, day, 9, 30, tzinfo=dt.UTC), source, where, link)  # invented

    return said
