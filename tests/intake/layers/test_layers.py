"""Which layer a Gerber file is, and the openings that it shows, merged where they touch.

Figures: layers, places and sizes are invented; areas are sums by hand. The function of a layer is written as the Gerber
Layer Format Specification, revision 2021.02, has it (``.FileFunction``).
"""

import math
import tracemalloc
from pathlib import Path

import pytest

from capcheck.intake.confined import decoded
from capcheck.intake.confined.frames import encoded
from capcheck.intake.layers import layer_of, named_layer
from capcheck.intake.layers.openings import read_here
from capcheck.intake.layers.time_allowed import seconds_a_megabyte
from capcheck.lexicon import layer_by_name
from capcheck.model import LayerKind
from capcheck.values import InputError

HEAD = "%FSLAX46Y46*%\n%MOMM*%\n%ADD10R,1X0.5*%\n%ADD11C,0.2*%\n%ADD12C,2*%\n"


def at(x, y, code):
    return f"X{round(x * 1e6)}Y{round(y * 1e6)}D0{code}*\n"


def star(corners):
    """An area of which each piece of the edge crosses most others."""
    around = [(20 * (1 + k / corners), 2.4 * k) for k in range(corners)]
    edge = "".join(at(far * math.cos(turn), far * math.sin(turn), 1) for far, turn in around)
    return f"G36*\n{at(0, 0, 2)}{edge}G37*\n"


@pytest.fixture
def opened(tmp_path):
    def read(body, head=HEAD, whole=True):
        (tmp_path / "layer.gbr").write_text(head + body + "M02*\n")
        return read_here(str(tmp_path / "layer.gbr"), encoded(whole))

    return read


@pytest.mark.rows(
    ("attribute", "kind", "side"),
    [
        ("Soldermask,Top", LayerKind.MASK, "top"),
        ("Paste,Bot", LayerKind.PASTE, "bottom"),
        ("Copper,L1,Top", LayerKind.COPPER, "top"),
        ("Copper,L4,Bot,Signal", LayerKind.COPPER, "bottom"),
        ("Legend,Top", LayerKind.LEGEND, "top"),
    ],
)
def test_a_layer_that_says_what_it_is_is_believed_whatever_its_name(attribute, kind, side):
    head = f"%TF.FileFunction,{attribute}*%\n{HEAD}".encode()
    found = layer_of(Path("outline.gbr"), head)
    assert (found.kind, found.side, found.stated) == (kind, side, True)


@pytest.mark.parametrize("attribute", ["Profile,NP", "Copper,L2,Inr", "AssemblyDrawing,Top"])
def test_a_layer_without_lands_is_none(attribute):
    assert layer_of(Path("mask_top.gbr"), f"%TF.FileFunction,{attribute}*%\n{HEAD}".encode()) is None


def test_what_is_no_gerber_is_no_layer():
    assert layer_of(Path("mask_top.gbr"), b"Ref,X,Y\nR1,1,2\n") is None


@pytest.mark.rows(
    ("name", "told"),
    [
        ("pump.GTS", ("mask", "top")),
        ("pump.gbp", ("paste", "bottom")),
        ("Soldermask_Bot.gbr", ("mask", "bottom")),
        ("TopPasteMask.gbr", ("paste", "top")),
        ("pump-F_Cu.gbr", ("copper", "top")),
        ("pump_silk_top.gbr", ("legend", "top")),
        ("stopp-oben.gbr", ("mask", "top")),
        ("pump.gbr", ("", "")),
    ],
)
def test_a_name_tells_what_a_layer_shows(name, told):
    """Common practice, no source."""
    assert layer_by_name(name) == told


def test_board_toml_names_a_layer_or_takes_it_out():
    assert named_layer(Path("a.gbr"), "mask top").kind is LayerKind.MASK
    assert named_layer(Path("a.gbr"), "none").kind is None


def test_flashes_apart_stay_apart(opened):
    found = opened("D10*\n" + at(0, 0, 3) + at(5, 0, 3))
    assert found.box.tolist() == [[-0.5, -0.25, 0.5, 0.25], [4.5, -0.25, 5.5, 0.25]]
    assert found.area.tolist() == pytest.approx([0.5, 0.5])
    assert found.around.tolist() == pytest.approx([3.0, 3.0])


def test_an_opening_painted_with_strokes_is_one(opened):
    strokes = "".join(at(0, y / 10, 2) + at(1, y / 10, 1) for y in range(6))
    found = opened("D11*\nG01*\n" + strokes)
    assert found.box.tolist() == [[-0.1, -0.1, 1.1, 0.6]]
    assert found.strokes == 6


def test_a_region_and_a_flash_in_it_are_one_opening(opened):
    square = at(0, 0, 2) + at(4, 0, 1) + at(4, 4, 1) + at(0, 4, 1) + at(0, 0, 1)
    found = opened("G36*\n" + square + "G37*\nD12*\n" + at(2, 2, 3))
    assert (len(found), found.area[0]) == (1, pytest.approx(16.0))


def test_what_is_erased_is_no_opening(opened):
    square = at(0, 0, 2) + at(4, 0, 1) + at(4, 4, 1) + at(0, 4, 1) + at(0, 0, 1)
    found = opened("G36*\n" + square + "G37*\n%LPC*%\nD12*\n" + at(2, 2, 3))
    assert found.area[0] == pytest.approx(16.0 - math.pi, abs=0.02)  # the circle is drawn with straight pieces


def test_of_copper_the_flashes_alone_are_lands(opened):
    body = "D10*\n" + at(0, 0, 3) + at(5, 0, 3) + "D11*\nG01*\n" + at(0, 0, 2) + at(5, 0, 1)
    assert len(opened(body)) == 1
    assert len(opened(body, whole=False)) == 2


def test_inches_become_millimetres(opened):
    found = opened("D10*\nX0Y0D03*\n", "%FSLAX24Y24*%\n%MOIN*%\n%ADD10C,0.1*%\n")
    assert found.box[0].tolist() == pytest.approx([-1.27, -1.27, 1.27, 1.27])


def test_a_command_of_format_and_unit_in_one_is_read(opened):
    assert len(opened("D10*\nX0Y0D03*\n", "%FSLAX24Y24*MOIN*%\n%ADD10C,0.1*%\n")) == 1


@pytest.mark.parametrize(
    ("body", "head", "what"),
    [
        ("D10*\nX0Y0D03*\n", "%ADD10C,0.1*%\n", "unit and format"),
        ("D10*\n" + at(0, 0, 3) * 40_000, HEAD, "apertures"),
        ("D11*\n" + at(0, 0, 1) * 200_000, HEAD, "strokes"),
        ("%TO.N,A*%\n" * 210_000, HEAD, "commands"),
        ("%SRX5000Y5000I1J1*%\nD10*\n" + at(0, 0, 3), HEAD, "in steps"),
        ("G36*\n" + at(0, 0, 2) + (at(1, 0, 1) + at(1, 1, 1)) * 150_000 + "G37*\n", HEAD, "strokes"),
        ("D12*\n" + at(9000, 0, 3), HEAD, "larger than any board"),
        ("D11*\n" + (at(0, 0, 2) + at(1, 0, 1)) * 41_000, HEAD, "commands"),
        (star(40_000), HEAD, "crosses itself"),
        (star(1_000), HEAD, "crosses itself"),
    ],
)
def test_what_no_board_has_is_refused_at_once(opened, body, head, what, in_time):
    with in_time(2), pytest.raises(InputError, match=what):
        opened(body, head)


# The library passes over these: a land of 2 by 1 mm lay along x, was as large as before, was one of six.
@pytest.mark.parametrize(
    ("command", "what"),
    [
        ("LR90", "turns"),
        ("LPD*LR-90.0", "turns"),
        ("LMX", "mirrors"),
        ("LS0.5", "scales apertures"),
        ("SFA2.0B2.0", "scales what"),
        ("ASAYBX", "axes"),
        ("IR90", "turns what"),
        ("MIA1B0", "mirrors what"),
        ("MIA0", "mirrors what"),
        ("SRX2Y3I10J20", "in steps"),
        ("MOIN", "unit"),
        ("IPNEG ", "negative"),
    ],
)
def test_what_the_reader_would_pass_over_is_refused(opened, command, what):
    with pytest.raises(InputError, match=what):
        opened(f"%{command}*%\nD10*\n" + at(0, 0, 3))


def test_places_that_count_from_the_one_before_are_refused(opened):
    with pytest.raises(InputError, match="the one before"):
        opened("D10*\nG91*\n" + at(1, 0, 3) + at(1, 0, 3))


@pytest.mark.parametrize(
    "command", ["LR0", "LR0.0", "LMN", "LS1", "LS1.0", "SFA1.000B1.000", "SRX1Y1I0J0", "ASAXBY", "IR0", "MIA0B0"]
)
def test_a_command_that_changes_nothing_is_none(opened, command):
    assert len(opened(f"%{command}*%\nD10*\n" + at(0, 0, 3))) == 1


def test_what_is_long_without_commands_gets_no_time_for_its_length(tmp_path):
    """Copper of 2.8 MB may take 4 s in all; ten times as long a comment no more than any file."""
    for name, text in (("long", "G04 " + "x" * 5_000_000 + "*\n"), ("drawn", at(1, 1, 1) * 100_000)):
        (tmp_path / name).write_text(HEAD + text + "M02*\n")
    assert seconds_a_megabyte(tmp_path / "long") * 5 < 0.01
    assert seconds_a_megabyte(tmp_path / "drawn") > 0.8


def test_a_file_larger_than_any_layer_is_not_taken_into_memory_for_its_time(tmp_path):
    with (tmp_path / "large").open("wb") as stream:
        stream.truncate(100_000_000)
    tracemalloc.start()
    try:
        seconds_a_megabyte(tmp_path / "large")
        assert tracemalloc.get_traced_memory()[1] < 30_000_000
    finally:
        tracemalloc.stop()


def test_what_is_drawn_over_itself_everywhere_is_refused_before_it_is_merged(opened, in_time):
    """Flashes 0.05 mm apart: each of 2 mm lies over some 5,000 others."""
    body = "D12*\n" + "".join(at(k % 150 / 20, k // 150 / 20, 3) for k in range(25_000))
    with in_time(2), pytest.raises(InputError, match="over itself"):
        opened(body)


def test_many_strokes_of_a_square_aperture_are_swept_at_once(opened, in_time):
    body = "D10*\n" + "".join(
        at(k % 200 * 4, k // 200 * 4, 2) + at(k % 200 * 4 + 1, k // 200 * 4 + 1, 1) for k in range(30_000)
    )
    with in_time(2):
        found = opened(body)
    # 1 by 0.5 mm along (1, 1): its own area, and the edges that it shows to its way, 1 + 0.5 mm, by 1 mm of way.
    assert (len(found), set(found.area.tolist())) == (30_000, {2.0})


def test_an_area_that_touches_itself_at_every_corner_is_mended(opened):
    """As a pour is drawn around holes: out along a line and back on it."""
    edge = "".join(at(k / 2, 0, 1) + at(k / 2, 1, 1) + at(k / 2, 0, 1) for k in range(1, 5_000))
    found = opened(f"G36*\n{at(0, 0, 2)}{edge}{at(2_500, -5, 1)}{at(0, -5, 1)}G37*\n")
    assert len(found) == 1


def test_flashes_stacked_on_one_place_are_one(opened, in_time):
    with in_time(2):
        found = opened("D10*\n" + at(0, 0, 3) * 25_000)
    assert (len(found), found.area.tolist()) == (1, [0.5])


def test_a_layer_cut_off_in_the_middle_is_an_error_or_what_there_is(opened):
    whole = "D10*\n" + at(0, 0, 3) + at(5, 0, 3)
    for end in range(len(whole)):
        try:
            found = opened(whole[:end] + "\n")
        except InputError:
            continue
        assert len(found) <= 2


def test_an_empty_layer_has_no_openings(opened):
    found = decoded(encoded(opened("")), dict)
    assert found["rings"] == []
