"""Boards whose texts try to break a format, and large ones.

Figures: invented, or the digits of the text; an inch is 25.4 mm by definition.
"""

import random

import pytest

HOSTILE = [
    "<script>alert(1)</script>",
    "\"quoted\" & 'single'",
    "</style><img src=x onerror=alert(1)>",
    '=HYPERLINK("x")',
    "@SUM(A1)",
    "]]>--><!--",
    "| table | *bold* `code` [link](x)",
    "[/red][bold]",
    "{{ 7 * 7 }}{% raw %}",
    "\u202eright to left",
    "A" * 3000,
]


@pytest.fixture
def hostile_board(make_board):
    """A board whose part numbers are hostile texts, one on each part."""
    rows = [f"U{n},{n * 6},10,0,top,v,mystery" for n in range(1, len(HOSTILE) + 1)]
    lines = ["Refs,Part number"]
    lines += ['U{},"{}"'.format(n, text.replace('"', '""')) for n, text in enumerate(HOSTILE, 1)]
    return make_board(rows, bom=lines, toml='mounting = { "U*" = "surface" }\n')


@pytest.fixture
def hostile_texts():
    return HOSTILE


@pytest.fixture
def large_board(tmp_path):
    """Return a function that writes a board of *count* parts, some of which fail and some are unknown."""

    def make(count):
        generator = random.Random(3)  # noqa: S311  nobody guards these numbers
        footprints = ["CAPC1005X55N", "RESC1608X50N", "SOIC127P600X175-8N", "mystery", "QFP50P1200X1200X160-64N"]
        rows = ["Ref,X [mm],Y [mm],Rotation,Side,Value,Footprint"]
        for n in range(1, count + 1):
            kind = generator.randrange(60)
            rows.append(f"P{n},{n % 100 * 4 + 5},{n // 100 * 4 + 5},0,top,v{kind},{footprints[kind % 5]}")
        folder = tmp_path / "large"
        folder.mkdir()
        (folder / "placements.csv").write_text("\n".join(rows) + "\n")
        (folder / "board.toml").write_text('placements = "placements.csv"\nmounting = { "P*" = "surface" }\n')
        return folder

    return make
