"""Tables of a few lines, read as customers' files are."""

import pytest

from capcheck.intake.tables import read_tables
from capcheck.intake.tables.columns import recognise


@pytest.fixture
def read_table(tmp_path):
    def read(*lines, purpose="bom"):
        path = tmp_path / "t.csv"
        path.write_text("\n".join(lines), encoding="utf-8")
        return recognise(read_tables(path)[0], purpose).index

    return read
