"""A tick that is set where the boxes of a question stand, and not in the column beside.

Figures: none.
"""

import csv

import pytest

from capcheck.answers.filled_list import read_filled_list


@pytest.mark.parametrize(
    ("written", "choice"),
    [
        ("☐ inch\n☐ metric", ""),
        ("☒ inch\n☐ metric", "inch"),
        ("☐ inch\n[x] metric", "metric"),
        ("x inch\n☐ metric", "inch"),
        ("☑ inch\n☒ metric", "inch\nmetric"),
        ("inch", "inch"),
        ("☐ inch ☒ metric", "☐ inch ☒ metric"),
    ],
)
@pytest.mark.parametrize("chosen", ["", "inch", "metric"])
def test_what_is_ticked_where_the_boxes_stand_is_a_choice(tmp_path, written, choice, chosen):
    """Nobody is made to use the column beside: a tick among the boxes counts, and two that differ are two."""
    filled = tmp_path / "filled.csv"
    with filled.open("w", newline="", encoding="utf-8") as stream:
        csv.writer(stream).writerows([["please tick", "your choice", "key"], [written, chosen, "size-code:1"]])
    (row,) = read_filled_list(filled, {"size-code:1"}).rows
    expected = choice if not chosen or chosen == choice else "\n".join(filter(None, (chosen, choice)))
    assert row.cells.get("choice", "") == expected
