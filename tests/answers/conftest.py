"""A shop with a board of its own to answer questions about, and lists filled in by other programs than ours."""

import csv
import io
import shutil
from pathlib import Path

import pytest

from capcheck.checking import check
from capcheck.report import load_format


@pytest.fixture
def desk(tmp_path, shop, monkeypatch):
    """The folder of a shop: its configuration, an empty library, and a customer's board in ``board``."""
    folder = tmp_path / "shop"
    folder.mkdir()
    for name in ("lines", "machines"):
        shutil.copytree(shop / name, folder / name)
    shutil.copytree(shop / "irrigation-controller", folder / "board")
    (folder / "capcheck.toml").write_text(
        '# the shop\'s own\nline = "lines/full.line.toml"  # every machine\nlibraries = ["packages.csv"]\n'
    )
    (folder / "packages.csv").write_text("part number,height [mm],note\n")
    monkeypatch.chdir(folder)
    return folder


@pytest.fixture(scope="session")
def demo(shop):
    """The report on the shop's demonstration board."""
    return check(shop / "irrigation-controller", line=shop / "lines" / "full.line.toml")


@pytest.fixture(scope="session")
def lists():
    """The lists of questions so far, by what lay in the shop's folder."""
    return {}


@pytest.fixture
def listed(run, lists):
    """Return a function that gives the list of questions as rows of cells by title; anew where a file is another."""

    def read(board="board"):
        folders = (Path.cwd(), Path(board).resolve())
        files = [(folder, path) for folder in folders for path in sorted(folder.rglob("*.*")) if path.is_file()]
        held = tuple((path.relative_to(folder).as_posix(), path.read_bytes()) for folder, path in files)
        asked = Path(board).name, held
        keeps = any(b"store =" in text for _, text in held)
        if asked not in lists or keeps:  # what a store holds, no file here may tell
            code, out, _ = run("check", board, "--format", "questions-csv")
            assert code in {0, 1}
            lists[asked] = out
        return list(csv.DictReader(io.StringIO(lists[asked])))

    return read


@pytest.fixture
def fill(listed, tmp_path):
    """Return a function that fills in cells by key and title, and gives the file."""

    def write(cells, *, board="board", rows=None, delimiter=",", name="filled.csv"):
        rows = listed(board) if rows is None else rows
        for key, given in cells.items():
            row = next(row for row in rows if row["key"] == key)
            row.update(given)
        path = tmp_path / name
        with path.open("w", newline="", encoding="utf-8") as file:
            writer = csv.DictWriter(file, rows[0].keys(), delimiter=delimiter)
            writer.writeheader()
            writer.writerows(rows)
        return path

    return write


def keys_of(rows):
    return {row["key"] for row in rows}


def workbook(report):
    """Return the list as a workbook of another library, ready to be filled in and saved anew."""
    from openpyxl import load_workbook

    return load_workbook(io.BytesIO(load_format("questions-xlsx").render(report)))
