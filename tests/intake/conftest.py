"""Whatever a test of this folder reads: every row of its files is read or set apart with a reason.

Figures: invented, or the digits of the text.
"""

from __future__ import annotations

from collections import Counter
from pathlib import Path

import pytest

from capcheck.intake import read
from capcheck.intake.folder.sources import Sources
from capcheck.intake.opened import OpenedFiles, lists_itself
from capcheck.intake.package import Package
from capcheck.intake.placements import NamesBody
from capcheck.intake.tables import Table

LARGE = 1_000_000


def account_for_rows(package: Package) -> None:
    """Assert that rows read and rows set apart are the rows of each file, each counted once."""
    placed = package.placements
    count = len(placed)
    if package.manifest.panel is not None:  # the circuit at the lower left comes first, then its copies
        count //= package.manifest.panel.columns * package.manifest.panel.rows
    rows = Counter(placed.files[f] for f in placed.file[:count].tolist())
    # What of a row is fitted and what of it is not are two lines.
    rows.update(file for file, _, _ in {(line.file, line.sheet, line.row) for line in package.bom or ()})
    rows.update(aside.place.file for aside in package.set_aside)
    assert all(aside.reason for aside in package.set_aside)
    roles = Counter(given.path for given in package.inputs if given.role in {"placements", "bom"})
    opened = OpenedFiles()
    opened.read_beside([(Path(one.path), form) for one in package.inputs if (form := lists_itself(one.path))])
    for file, times in roles.items():
        if Path(file).stat().st_size > LARGE:
            continue
        tables = [found.table for found in opened.tables(file)]
        total = sum(table.total_rows for table in tables)
        # One table that is placements and bill of materials at once is accounted for twice.
        assert rows[file] == total or (times > 1 and rows[file] == times * total)
        lines = physical_lines(Path(file))
        if lines is not None:
            assert sum(table.total_rows + more_blank_rows(table) for table in tables) == lines


def more_blank_rows(table: Table) -> int:
    """Return the rows of long blank runs beyond the one that stands for each, as their reasons name them."""
    runs = [aside.reason.values for aside in table.set_aside if aside.reason.key == "files.blank rows"]
    return sum(run["last"] - run["first"] for run in runs)


def physical_lines(file: Path) -> int | None:
    """Return the lines of a plain text file without quotes, in which a row is a line; else None."""
    try:
        text = file.read_bytes().decode("ascii")
    except UnicodeDecodeError:
        return None
    text = text.replace("\r\n", "\n").replace("\r", "\n").rstrip("\x1a")
    if "TF.FileFunction" in text or "P  UNITS" in text:
        return None  # a component layer or a netlist, whose parts have several lines each
    if any(mark in text for mark in '"<\0') or "\n\n" in text or not text:
        return None
    return text.count("\n") + (not text.endswith("\n"))


@pytest.fixture(autouse=True, scope="session")
def _rows_are_accounted_for():
    whole = read._read

    def checked(sources: Sources, names_body: NamesBody, **further: object) -> Package:
        package = whole(sources, names_body, **further)
        account_for_rows(package)
        return package

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(read, "_read", checked)
        yield
