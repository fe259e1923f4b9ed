"""A desk of the invented shop in a folder of its own, with its pages asked directly: no server, no worker.

Figures: invented.
"""

from __future__ import annotations

import re
import warnings
from pathlib import Path

import pytest

from capcheck.desk.shop_at_desk import Desk, open_demo
from capcheck.desk.web import app_of

with warnings.catch_warnings():
    warnings.simplefilter("ignore")  # of a successor of the client that it is written for
    from starlette.testclient import TestClient

OURS = "http://127.0.0.1:8765"


@pytest.fixture(scope="session")
def demo_shop(tmp_path_factory):
    """The configuration of the invented shop, and its board's folder."""
    return open_demo(tmp_path_factory.mktemp("demo"))


@pytest.fixture
def desk(tmp_path, demo_shop):
    made = Desk(tmp_path / "desk", demo_shop[0], plan_seconds=0.0)
    made.lines = made.lines[:2]  # each costs every check some of a second
    yield made
    made.store.close()


@pytest.fixture
def client(desk):
    """A browser that has been let in; ``client.app`` does no work."""
    found = TestClient(app_of(desk, jobs=1), base_url=OURS, follow_redirects=False)
    found.get("/")
    yield found
    found.close()


def sign_in(text: str) -> str:
    """The sign that a page's forms carry."""
    return re.search(r'data-sign="(\w+)"', text)[1]


@pytest.fixture
def sign(client):
    return sign_in(client.get("/").text)


def bring(desk: Desk, folder: Path, **facts: object) -> int:
    """Put a quote of the files of a folder on the desk, as if they had come; return its number."""
    given = {"customer": "Meadow Pumps", "name": "Pump", "quantity": 500, "due": "", "who": "Ada", **facts}
    made = desk.new_folder()
    arrived = desk.arrived(made, given["name"])
    root = desk.of_quote(made)
    rows = []
    for path in sorted(folder.iterdir()):
        target = arrived / path.name
        target.write_bytes(path.read_bytes())
        rows.append((path.name, target.relative_to(root).as_posix(), target.stat().st_size))
    number = desk.quotes.new(made, **given)
    desk.quotes.add_files(number, arrived.relative_to(root).as_posix(), rows, "Ada")
    return number
