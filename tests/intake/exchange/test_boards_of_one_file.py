"""A board in IDF, or a netlist, may be all that comes: it is a board as far as the file goes.

Figures: boards, packages and places are invented; the turned middle of a package is worked out by complex numbers,
mirrored across the y axis for the underside.
"""

import cmath
import math

import pytest

from capcheck.checking import read_board
from capcheck.facts import FACTS, Session
from capcheck.model import Side, Topic
from capcheck.values import InputError

MIDDLE = 3 + 1j
"""Of the package, whose origin is its pin 1."""
PLACED = [("J1", 20 + 10j, 30, "top"), ("J2", 50 + 30j, 30, "bottom"), ("J3", 30 + 25j, 180, "bottom")]
HEAD = '.HEADER\n{kind}_FILE 3.0 "somebody" 2020/01/02.03:04:05 1\n{name}.END_HEADER\n'
EDGE = ".BOARD_OUTLINE ECAD\n1.2\n0 0 0 0\n0 80 0 0\n0 80 50 0\n0 0 50 0\n0 0 0 0\n.END_BOARD_OUTLINE\n"
HOLES = ".DRILLED_HOLES\n3.2 5 5 NPTH NOREFDES MTG ECAD\n.END_DRILLED_HOLES\n"
LIBRARY = HEAD.format(kind="LIBRARY", name="") + (
    '.ELECTRICAL\n"ROW 9" "PN-9" MM 4.5\n0 -1 -1 0\n0 7 -1 0\n0 7 3 0\n0 -1 3 0\n0 -1 -1 0\n.END_ELECTRICAL\n'
)


def board_file(further=""):
    rows = "".join(
        f'"ROW 9" "PN-9" {ref}\n{at.real} {at.imag} 0.0 {turn} {side.upper()} PLACED\n'
        for ref, at, turn, side in PLACED
    )
    head = HEAD.format(kind="BOARD", name='"invented" MM\n')
    return f"{head}{EDGE}{HOLES}.PLACEMENT\n{rows}{further}.END_PLACEMENT\n"


@pytest.fixture
def alone(tmp_path):
    def read(**files):
        for name, text in files.items():
            (tmp_path / name.replace("__", ".")).write_text(text)
        return read_board(tmp_path)

    return read


def places(board):
    p = board.placements
    return {
        ref: (round(x, 4), round(y, 4), turn, str(Side(int(side))))
        for ref, x, y, turn, side in zip(p.ref, p.x_mm, p.y_mm, p.rotation_deg, p.side, strict=True)
    }


def test_idf_alone_is_a_board(alone):
    found = alone(a__emn=board_file(), a__emp=LIBRARY)
    expected = {}
    for ref, at, turn, side in PLACED:
        off = MIDDLE * cmath.rect(1, math.radians(turn))
        middle = at + (off if side == "top" else -off.conjugate())
        expected[ref] = (round(middle.real, 4), round(middle.imag, 4), turn, side)
    placed = places(found)
    # Whether what lies below is turned before it is mirrored or after it is from memory: J2 lies elsewhere by each.
    assert all(math.isnan(value) for value in placed.pop("J2")[:2])
    assert expected.pop("J2")
    assert placed == expected
    body = found.bodies[0]
    assert (body.length.high, body.width.high, body.height.high) == (8.0, 4.0, 4.5)
    assert (found.size.thickness.low, found.size.thickness.high) == (1.2, 1.2)
    assert (found.outline.polygon.bounds, found.outline.holes) == ((0, 0, 80, 50), ((5.0, 5.0, 3.2),))


@pytest.mark.parametrize(("side", "turn", "is_known"), [("TOP", 30, True), ("BOTTOM", 90, True), ("BOTTOM", 30, False)])
def test_how_a_body_lies_below_is_not_known_where_the_order_of_turning_and_mirroring_tells(alone, side, turn, is_known):
    about_its_origin = LIBRARY.replace("0 -1 -1 0", "0 -4 -2 0").replace("7 -1", "4 -2").replace("7 3", "4 2")
    text = board_file(f'"ROW 9" "PN-9" J4\n60 10 0 {turn} {side} PLACED\n')
    x, y, told, _ = places(alone(a__emn=text, a__emp=about_its_origin.replace("-1 3", "-4 2")))["J4"]
    assert (x, y) == (60, 10)
    assert told == turn if is_known else math.isnan(told)


def bounds_of(board, fact):
    told = Session(FACTS, board, None).get(fact)
    return float(told.low[0]), float(told.high[0])


@pytest.mark.parametrize(
    ("hole", "is_hole", "tooling", "mounting"),
    [
        ("3.0 75 5 PTH BOARD TOOL ECAD", True, (2, math.inf), 0),
        ("3.0 40 25 NPTH NOREFDES TOOL ECAD", True, (2, math.inf), 0),
        ("3.0 75 5 PTH BOARD MTG MCAD", True, (1, math.inf), 1),
        ("3.0 75 5 NPTH BOARD OTHER ECAD", True, (2, math.inf), 0),
        ("3.0 75 5 PTH J1 MTG ECAD", False, (1, math.inf), 0),
        ("3.0 75 5 NPTH J1 PIN ECAD", True, (1, math.inf), 0),
        ("3.0 75 5 NPTH J1 MTG ECAD", True, (1, math.inf), 0),
        ("3.0 75 5 NPTH H1 TOOL ECAD", True, (2, math.inf), 0),
        ("3.0 75 5 PTH NOREFDES VIA ECAD", False, (1, math.inf), 0),
    ],
)
def test_what_idf_says_a_hole_is_for_is_taken(alone, hole, is_hole, tooling, mounting):
    """Beside one without metal near a corner, that is for a screw and may hold the board too."""
    text = board_file().replace("NPTH NOREFDES MTG ECAD\n", f"NPTH NOREFDES MTG ECAD\n{hole}\n")
    found = alone(a__emn=text, a__emp=LIBRARY)
    assert len(found.outline.holes) == 1 + is_hole
    assert bounds_of(found, "board.tooling_holes") == tooling
    assert bounds_of(found, "board.mounting_holes") == (1 + mounting, math.inf)


def test_another_thickness_in_board_toml_than_in_idf_is_a_question(alone, tmp_path):
    (tmp_path / "board.toml").write_text('thickness = "1.6 mm"\n')
    found = alone(a__emn=board_file()).discrepancies
    assert [d.said.key for d in found if d.topic is Topic.STATED_IN_DRAWING] == ["outline.another thickness"]


def test_without_a_library_no_place_is_proved_since_an_origin_may_be_pin_1(alone):
    found = alone(a__emn=board_file())
    assert [ref for ref, (x, y, *_) in places(found).items() if not (math.isnan(x) or math.isnan(y))] == []
    assert {d.topic for d in found.discrepancies} >= {Topic.NO_POSITION}


def test_a_library_that_board_toml_names_draws_the_packages_of_the_board_that_it_names(alone, tmp_path):
    found = alone(a__emn=board_file(), a__emp=LIBRARY)
    (tmp_path / "board.toml").write_text('placements = "a.emn"\nfabrication = ["a.emn", "a.emp"]\n')
    assert places(read_board(tmp_path))["J1"] == places(found)["J1"]


def test_a_part_of_idf_that_is_not_placed_yet_has_no_place(alone):
    """Its status says so, whatever stands as its place (the format's specification, from memory)."""
    found = places(alone(a__emn=board_file('"ROW 9" "PN-9" J4\n0.0 0.0 0.0 0.0 TOP UNPLACED\n'), a__emp=LIBRARY))
    assert math.isnan(found["J4"][0])
    assert len(found) == len(PLACED) + 1


def test_a_part_of_idf_without_reference_is_not_lost(alone):
    assert (
        len(alone(a__emn=board_file('"SHIELD" "PN-8" NOREFDES\n40 20 0 0 TOP PLACED\n')).placements) == len(PLACED) + 1
    )


@pytest.mark.parametrize("text", [board_file().replace("30.0 25.0", "30.0"), board_file()[:-40]])
def test_idf_that_is_damaged_where_it_places_parts_is_no_board(alone, text):
    with pytest.raises(InputError, match="damaged at line"):
        alone(a__emn=text)


def land(ref, pin, x, y, hole="", layer="01"):
    code = "317" if hole else "327"
    step = 0.001
    at = f"X{round(x / step):+07d}Y{round(y / step):+07d}X0800Y0800"
    return f"{code}{'NET':<14}   {ref:<6}-{pin:<4} {hole:<6}A{layer}{at}\n"


PAIR = "".join(land("R1", k, 10 + x, 20, layer="02") for k, x in (("1", -0.8), ("2", 0.8)))
UNEVEN = "".join(land("Q1", k, x, y) for k, x, y in (("1", 29, 30), ("2", 31, 30), ("3", 30, 32)))
ROWS = "".join(land("U1", str(k), *((40 + 1.27 * k, 10) if k <= 4 else (40 + 1.27 * (9 - k), 16))) for k in range(1, 9))
NETLIST = "P  JOB   INVENTED\nP  UNITS SI\n" + PAIR + UNEVEN + ROWS + "999\n"


def test_a_netlist_alone_places_what_lies_evenly_in_its_lands(alone):
    found = alone(net__d356=NETLIST)
    placed = places(found)
    assert (placed["R1"][:2], placed["R1"][3]) == ((10.0, 20.0), "bottom")
    assert (placed["U1"][:2], placed["U1"][3]) == ((40 + 2.5 * 1.27, 13.0), "top")
    assert math.isnan(placed["Q1"][0])
    assert [d.refs for d in found.discrepancies if d.topic is Topic.NO_POSITION] == [("Q1",)]
    assert all(math.isnan(turn) for _, _, turn, _ in placed.values())
    assert found.bodies[found.placements.part_type[found.placements.ref.index("U1")]].pins == 8


def test_a_netlist_of_two_units_places_nothing(alone):
    with pytest.raises(InputError, match="no file looks like placement data"):
        alone(net__d356=NETLIST.replace("P  UNITS SI\n", "P  UNITS SI\nP  UNITS CUST 0\n"))


def test_a_netlist_that_may_leave_out_pins_places_no_part_by_the_rest(alone):
    """Pins 4 and 5, across from one another, are not listed: the middle of the others is not that of the part."""
    rest = "".join(f"{line}\n" for line in ROWS.splitlines() if line[27:31].strip() not in {"4", "5"})
    assert math.isnan(places(alone(net__d356=NETLIST.replace(ROWS, rest)))["U1"][0])


@pytest.mark.parametrize("spots", ["Ref,X,Y,Reference,Side\nR1,1,2,R2,top\n", "Part,X1,Y1,X2,Y2\nR1,1,2,3,4\n"])
def test_a_netlist_places_nothing_beside_a_table_that_may(alone, spots):
    with pytest.raises(InputError, match="no file looks like placement data"):
        alone(net__d356=NETLIST, spots__csv=spots)


@pytest.mark.parametrize(
    "text", [NETLIST.replace("999\n", ""), NETLIST.replace("P  UNITS SI\n", ""), NETLIST.replace("A02X", "A02Y", 1)]
)
def test_a_netlist_that_is_torn_is_no_board(alone, text):
    with pytest.raises(InputError, match="no file looks like placement data"):
        alone(net__d356=text)


def test_placements_in_an_archive_go_before_a_netlist(alone, tmp_path):
    import zipfile

    with zipfile.ZipFile(tmp_path / "assembly.zip", "w") as archive:
        archive.writestr("xy.csv", "Ref,Value,Footprint,X (mm),Y (mm),Rotation,Side\nR1,10k,0603,11,21,0,top\n")
    assert places(alone(net__d356=NETLIST)) == {"R1": (11.0, 21.0, 0.0, "top")}


def copper(side, *pads):
    """A layer of copper whose pads, of reference, pin, x and y, name what they are of, those in holes by their use."""
    text = f"%TF.FileFunction,Copper,L{1 if side == 'Top' else 2},{side}*%\n%FSLAX46Y46*%\n%MOMM*%\n"
    text += (
        "%TA.AperFunction,SMDPad,CuDef*%\n%ADD10R,0.8X0.8*%\n%TA.AperFunction,ComponentPad*%\n%ADD11C,1.6*%\n%TD*%\n"
    )
    for ref, pin, x, y, aperture in pads:
        text += f"%TO.P,{ref},{pin}*%\nD{aperture}*\nX{round(x * 1e6)}Y{round(y * 1e6)}D03*\n%TD*%\n"
    return text + "M02*\n"


PINS = [("J1", str(k), 30 + 2.5 * k, 5, 11) for k in range(4)]
TOP = copper("Top", ("R1", "1", 9.2, 20, 10), ("R1", "2", 10.8, 20, 10), *PINS)
BELOW = copper("Bot", ("R2", "1", 9.2, 30, 10), ("R2", "2", 10.8, 30, 10), ("Q1", "1", 1, 1, 10), *PINS)


def test_layers_of_copper_that_name_pins_place_what_lies_evenly_in_its_lands(alone):
    """A part in holes stands in both layers, and is one."""
    found = alone(top__gbr=TOP, below__gbr=BELOW)
    placed = places(found)
    assert (placed["R1"][:2], placed["R1"][3]) == ((10.0, 20.0), "top")
    assert (placed["R2"][:2], placed["R2"][3]) == ((10.0, 30.0), "bottom")
    assert (placed["J1"][:2], placed["J1"][3]) == ((30 + 1.5 * 2.5, 5.0), "unknown")
    assert math.isnan(placed["Q1"][0])
    assert len(placed) == 4


@pytest.mark.parametrize("other", [None, BELOW.replace("M02*\n", "")])
def test_a_layer_of_copper_without_that_of_the_other_side_is_no_board(alone, other):
    with pytest.raises(InputError, match=r"no file looks like placement data|breaks off"):
        alone(top__gbr=TOP, **({"below__gbr": other} if other else {}))


def test_layers_of_copper_place_nothing_beside_a_table_that_does(alone):
    table = "Ref,Value,Footprint,X (mm),Y (mm),Rotation,Side\nR1,10k,0603,10,20,0,top\n"
    assert set(places(alone(top__gbr=TOP, below__gbr=BELOW, spots__csv=table))) == {"R1"}
