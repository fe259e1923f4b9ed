"""A board of six resistors in known places, beside which a test puts a file of fabrication.

Figures: invented, or the digits of the text.
"""

import pytest

from capcheck.checking import read_board

RESISTORS = "Ref,Value,Footprint,X (mm),Y (mm),Rotation,Side\n" + "".join(
    f"R{i},10k,0603,{9 * i},{5 * i},0,top\n" for i in range(1, 7)
)


@pytest.fixture
def board(tmp_path):
    def read(further="", **files):
        (tmp_path / "placements.csv").write_text(RESISTORS + further)
        for name, text in files.items():
            (tmp_path / name.replace("__", ".")).write_text(text)
        return read_board(tmp_path)

    return read
