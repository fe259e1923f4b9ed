"""What layers of copper state of pins and lands by their attributes stands beside the other sources.

Figures: layers, places and sizes are invented.
"""

import pytest

from capcheck.intake.exchange.lands import Netlist, joined, lands_of_parts
from capcheck.intake.exchange.pads import read_here
from capcheck.model import Basis, Mounting
from capcheck.values import InputError, Interval

HEAD = """%TF.FileFunction,Copper,L{layer}*%
%FSLAX46Y46*%
%MO{unit}*%
%TA.AperFunction,SMDPad,CuDef*%
%ADD10R,0.8X0.9*%
%TD*%
%TA.AperFunction,ComponentPad*%
%ADD11C,1.6*%
%TA.AperFunction,HeatsinkPad*%
%ADD12R,4X4*%
%TD*%
"""


def layer(pads, side="1,Top", unit="MM"):
    return HEAD.format(layer=side, unit=unit) + pads + "M02*\n"


def flash(ref, pin, x, y, aperture=10):
    return f"D{aperture}*\n%TO.P,{ref},{pin}*%\n%TO.N,NET*%\nX{round(x * 1e6)}Y{round(y * 1e6)}D03*\n%TD*%\n"


def pair(ref, x, y):
    return flash(ref, 1, x - 0.8, y) + flash(ref, 2, x + 0.8, y)


def row(ref, x, y, pins, pitch, aperture=10):
    return "".join(flash(ref, i + 1, x + i * pitch, y, aperture) for i in range(pins))


SPOTS = {f"R{i}": (9 * i, 5 * i) for i in range(1, 7)}
PAIRS = "".join(pair(ref, *at) for ref, at in SPOTS.items())


@pytest.fixture
def lands(tmp_path):
    def read(*texts):
        found = []
        for text in texts:
            (tmp_path / "copper.txt").write_text(text)
            found += read_here(str(tmp_path / "copper.txt"), b"").lands
        return lands_of_parts(Netlist(joined(found), lists_open_pins=True))

    return read


def notes(board):
    return [n.said.key for n in board.notes if not isinstance(n.said, str) and n.said.key.startswith("fabrication")]


def test_pads_of_both_sides_at_one_place_are_one_joint_in_a_hole(lands):
    pads = row("J1", 5, 5, 6, 2.54, 11)
    found = lands(layer(pads), layer(pads, "2,Bot"))["J1"]
    assert (found.pins, found.pitch, found.mounting, found.side) == (6, (2.54, 2.54), Mounting.THROUGH_HOLE, "")


def test_pads_on_one_side_are_on_the_surface(lands):
    found = lands(layer(pair("C1", 5, 5)), layer(pair("C2", 9, 9), "4,Bot"))
    assert [(p.pins, p.mounting, p.side) for p in found.values()] == [
        (2, Mounting.SURFACE, "top"),
        (2, Mounting.SURFACE, "bottom"),
    ]


def test_a_pad_of_another_function_leaves_the_mounting_open(lands):
    found = lands(layer(row("U1", 5, 5, 4, 1.27) + flash("U1", 5, 7, 7, 12)))["U1"]
    assert (found.pins, found.mounting) == (5, None)


@pytest.mark.parametrize(
    "text",
    [
        layer(row("U1", 1, 1, 4, 0.5)),
        layer(row("U1", 1, 1, 4, 0.5)).replace("%T", "G04 #@! T").replace("*%", "*"),
        layer(row("U1", 1, 1, 4, 0.5)).replace("*%\n", "*%\r\n"),
        layer(row("U1", 1 / 25.4, 1 / 25.4, 4, 0.5 / 25.4), unit="IN"),  # an inch is 25.4 mm, exact by definition
        layer(row("U1", 1, 1, 4, 0.5)).replace("U1,2*", "U1,2,SCL*"),
        layer(row("U1", 1, 1, 4, 0.5)).replace("U1", "\\u0055" + "1"),
        layer(row("U1", 1, 1, 4, 0.5)).replace("D10*", "G54D10*"),
    ],
)
def test_attributes_are_read_in_each_way_of_writing(lands, text):
    found = lands(text)["U1"]
    assert (found.pins, found.pitch, found.mounting) == (4, (0.5, 0.5), Mounting.SURFACE)


def test_an_area_with_a_pin_is_a_pad_in_its_middle(lands):
    edge = "X6000000Y4000000D02*\nX7000000D01*\nY6000000D01*\nX6000000D01*\n"
    area = f"%TA.AperFunction,SMDPad,CuDef*%\n%TO.P,C1,2*%\nG36*\n{edge}G37*\n%TD*%\n"
    found = lands(layer(flash("C1", 1, 4.5, 5) + area))["C1"]
    assert (found.pins, found.mounting, found.middle) == (2, Mounting.SURFACE, pytest.approx((5.5, 5.0)))


@pytest.mark.parametrize(
    "text",
    [
        layer(row("U1", 1, 1, 4, 0.5)).replace("D03", "D01"),
        layer("%SRX2Y2I5.0J5.0*%\n" + row("U1", 1, 1, 4, 0.5)),
        layer(row("U1", 1, 1, 4, 0.5) + row("U1", 9, 9, 4, 0.5)),
    ],
)
def test_pads_of_which_it_is_open_where_they_lie_state_neither_count_nor_pitch(lands, text):
    """Strokes have no place of their own; steps and panels repeat references."""
    found = lands(text)["U1"]
    assert (found.pins, found.pitch, found.middle) == (None, None, None)


def test_what_layers_state_is_a_source_with_its_file_and_line(board):
    top = layer(PAIRS + row("U1", 60, 10, 8, 0.65))
    read = board("U1,,,62.275,10,0,top\n", copper__gtl=top, back__gbl=layer(row("J1", 5, 5, 2, 2.0, 11), "2,Bot"))
    found = read.bodies[read.placements.part_type[read.placements.ref.index("U1")]]
    assert (found.pins, found.mounting, found.pitch.value) == (8, Mounting.SURFACE, Interval(0.65, 0.65))
    assert found.pitch.basis is Basis.STATED
    line = top[: top.index("X60000000Y")].count("\n") + 1
    assert found.pitch.source == f"copper.gtl:{line} U1"
    assert notes(read) == ["fabrication.used"]


def test_layers_are_not_read_beside_a_netlist_that_counts(board):
    records = "".join(
        f"327NET              {ref:<6}-{pin:<4}       A01X{round(1000 * (x + at)):+07d}Y{1000 * y:+07d}\n"
        for ref, (x, y) in SPOTS.items()
        for pin, at in (("1", -0.8), ("2", 0.8))
    )
    broken = layer(PAIRS).replace("%MOMM*%\n", "")
    assert notes(board(test__net="P  UNITS CUST 1\n" + records, copper__gtl=broken)) == ["fabrication.used"]
    assert notes(board(test__net="", copper__gtl=broken)) == ["fabrication.not read"]


def test_layers_without_pins_say_nothing_and_cost_no_note(board):
    assert notes(board(copper__gtl=layer("D10*\nX1000000Y1000000D03*\n"))) == []


@pytest.mark.parametrize(
    ("text", "told"),
    [
        (layer(PAIRS)[: len(layer(PAIRS)) // 2], ["fabrication.not read"]),
        (layer(PAIRS).replace("X9", "X" + "9" * 30), ["fabrication.not read"]),
        (layer(PAIRS).replace("%FSLAX46Y46*%", "%FSTAX46Y46*%"), ["fabrication.not read"]),
        (layer("%TO.P," + "R" * 100_000 + ",1*%X1Y1D03*" + PAIRS), ["fabrication.used"]),
    ],
)
def test_a_damaged_layer_is_noted_and_the_rest_goes_on(board, text, told):
    read = board(copper__gtl=text)
    assert notes(read)
    assert set(notes(read)) <= {*told, "fabrication.used"}
    assert len(read.placements) == len(SPOTS)


@pytest.mark.rows("command", ["G91*\n", "%SFA2.0B1.0*%\n", "%MIA1B0*%\n", "%IR90*%\n", "%ASAYBX*%\n"])
def test_a_layer_that_displaces_what_it_draws_proves_nothing(board, command):
    assert notes(board(copper__gtl=layer(command + PAIRS))) == ["fabrication.not read"]


@pytest.mark.rows("command", ["G90*\n", "%SFA1.0B1.0*%\n", "%MIA0B0*%\n", "%IR0*%\n", "%ASAXBY*%\n"])
def test_one_that_says_that_it_does_not_is_read(board, command):
    assert notes(board(copper__gtl=layer(command + PAIRS))) == notes(board(copper__gtl=layer(PAIRS)))


def test_a_million_flashes_are_refused_in_time(tmp_path, in_time):
    file = tmp_path / "copper.gtl"
    file.write_text(layer("D10*\n%TO.P,U1,1*%\n" + "X1000000Y1000000D03*\n" * 1_000_000))
    with in_time(2), pytest.raises(InputError, match="commands"):
        read_here(str(file), b"")
