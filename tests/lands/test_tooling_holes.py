"""Holes that a board may be held by: which are found, what is known where little was sent, which machines need them.

Figures: boards, places, holes and machines are invented.
"""

import numpy as np
import pytest

from capcheck.checking import check
from capcheck.shop import Choice

TOOLING = (
    "M48\n; #@! TF.FileFunction,NonPlated,1,2,NPTH\nMETRIC\nT1C3.200\nT2C1.000\n%\nT1\n"
    "X3.0Y3.0\nX97.0Y3.0\nX50.0Y20.0\nT2\nX3.0Y6.0\nM30\n"
)


OUTLINE = "%FSLAX46Y46*%\n%MOMM*%\n%TF.FileFunction,Profile,NP*%\n%ADD10C,0.1*%\nD10*\n" + "".join(
    f"X{x}000000Y{y}000000D0{2 if k == 0 else 1}*\n"
    for k, (x, y) in enumerate([(0, 0), (100, 0), (100, 40), (0, 40), (0, 0)])
)
OUTLINE += "M02*\n"


def test_holes_without_metal_near_an_edge_may_hold_the_board(resistors, board):
    rows, mask = resistors
    found = board(rows, mask, npth__drl=TOOLING, edge__gbr=OUTLINE)
    assert [(h.x_mm, h.y_mm, h.diameter_mm, h.certain, str(h.kind)) for h in found.lands.tooling] == [
        (3.0, 3.0, 3.2, True, "mechanical"),
        (97.0, 3.0, 3.2, True, "mechanical"),
    ]


PLATED = "M48\n; #@! TF.FileFunction,Plated,1,2,PTH\nMETRIC\nT1C3.200\n%\nT1\nX3.0Y3.0\nX97.0Y3.0\nM30\n"


@pytest.mark.parametrize(
    ("edge", "more", "bounds"),
    [
        (True, TOOLING, (2, 2)),
        (True, TOOLING.replace("TF.FileFunction,NonPlated,1,2,NPTH", ""), (0, 2)),
        (False, TOOLING, (0, np.inf)),
        (True, PLATED, (0, np.inf)),
        (True, None, (0, np.inf)),
        (True, TOOLING.replace("T1C3.200", "T1C1.000"), (0, 0)),
        (True, TOOLING.replace("T1C3.200", "T1C?"), (0, np.inf)),
    ],
    ids=["found", "plated or not", "no outline", "only plated", "no drill file", "too small", "no size"],
)
def test_how_many_holes_may_hold_the_board_is_known_where_outline_and_holes_are(resistors, board, edge, more, bounds):
    """Holes without metal come in a file of their own: where none was sent, nobody can tell that there are none."""
    rows, mask = resistors
    files = {"other__drl": more} if more else {}
    if edge:
        files["edge__gbr"] = OUTLINE
    folder = board(rows, mask, read=False, **files)
    words = dict.fromkeys(("title", "message", "why", "remedy", "basis"), "as it says")
    rule = {"id": "own", "subject": "board", "require": "board.tooling_holes < 0", **words}
    (finding,) = check(folder, choice=Choice(made=[rule], select=["own"])).findings
    assert (finding.facts[0].low, finding.facts[0].high) == bounds


LINE = 'name = "L"\nmachines = ["one.machine.toml"]\n'
MACHINE = 'name = "One"\n[[head]]\nname = "h"\n[board]\n'
PANEL = '[panel]\ncolumns = 2\nrails = { bottom = "5 mm", top = "5 mm" }\n'


@pytest.mark.parametrize(
    ("pins", "toml", "outcome"),
    [
        ("tooling_pins = 2", "", "pass"),
        ("tooling_pins = 3", "", "warn"),
        ("tooling_pins = 0", "", "not applicable"),
        ("", "", "not applicable"),
        ("tooling_pins = 1", PANEL, "undecided"),
    ],
    ids=["enough", "too few", "no pins", "not stated", "a panel whose rails nobody has drawn"],
)
def test_a_machine_that_holds_boards_by_pins_needs_a_hole_for_each(resistors, board, tmp_path, pins, toml, outcome):
    rows, mask = resistors
    folder = board(rows, mask, read=False, npth__drl=TOOLING, edge__gbr=OUTLINE, board__toml=toml)
    line = tmp_path.with_name(f"{tmp_path.name}-line")
    line.mkdir()
    (line / "one.machine.toml").write_text(MACHINE + pins)
    (line / "l.line.toml").write_text(LINE)
    report = check(folder, line=line / "l.line.toml", choice=Choice(select=("tooling-holes",)))
    told = ["undecided" if f.undecided else "warn" for f in report.findings]
    assert told == ([outcome] if outcome in {"warn", "undecided"} else [])
    assert report.totals.passed == (outcome == "pass")
