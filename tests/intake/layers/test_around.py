"""How far copper at a place reaches, and how far off other copper begins, holds for long arcs too.

Figures: layers, places and sizes are invented; distances are sums by hand.
"""

import math

import pytest

from capcheck.intake.confined.frames import encoded
from capcheck.intake.layers.around import Windows, around_here

HEAD = "%FSLAX46Y46*%\n%MOMM*%\n%ADD10C,1*%\n%ADD11C,0.2*%\nG75*\n"


def at(x, y):
    return f"X{round(x * 1e6)}Y{round(y * 1e6)}"


def around(tmp_path, body, place, reach):
    (tmp_path / "copper.gbr").write_text(f"{HEAD}{body}M02*\n")
    [found] = around_here(str(tmp_path / "copper.gbr"), encoded(Windows([place], [reach])))
    return found


DISC = f"D10*\n{at(0, 0)}D03*\n"


@pytest.mark.parametrize("degrees", [0, 90, 210])
def test_an_area_within_a_long_arc_reaches_as_far_as_its_circle(tmp_path, degrees):
    """The edge of a disc of radius 5 is one arc of nearly a full circle, whose ends lie far from the place."""
    cx, cy = (6.5 * f(math.radians(degrees)) for f in (math.cos, math.sin))
    far = [math.radians(degrees + off) for off in (-0.573, 0.573)]
    (x, y), (u, v) = ((cx + 5 * math.cos(angle), cy + 5 * math.sin(angle)) for angle in far)
    arc = f"G03{at(u, v)}I{round((cx - x) * 1e6)}J{round((cy - y) * 1e6)}D01*\n"
    # From the one end clockwise all around to the other.
    arc = arc.replace("G03", "G02")
    area = f"G36*\n{at(x, y)}D02*\n{arc}G01{at(x, y)}D01*\nG37*\n"
    own, other = around(tmp_path, DISC + area, (0.0, 0.0), 3.0)
    assert (own, other) == (pytest.approx(0.5, abs=0.01), pytest.approx(1.5, abs=0.01))


def test_a_stroke_along_a_long_arc_is_seen(tmp_path):
    body = f"{DISC}D11*\n{at(11.5, 0)}D02*\nG03{at(11.5, 0)}I-5000000J0D01*\nG01*\n"
    own, other = around(tmp_path, body, (0.0, 0.0), 3.0)
    assert (own, other) == (pytest.approx(0.5, abs=0.01), pytest.approx(1.4, abs=0.01))
