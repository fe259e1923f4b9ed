"""What a netlist states of pins, lands and holes stands beside the other sources, where it is of the board.

Figures: records, places and sizes are invented; steps of a ten-thousandth of an inch are 0.00254 mm.
"""

import zipfile

import pytest

from capcheck.checking.read import read_board
from capcheck.intake.exchange.lands import lands_of_parts
from capcheck.intake.exchange.netlist import read_here
from capcheck.lexicon import sentence
from capcheck.model import Basis, Mounting, Topic
from capcheck.values import InputError, Interval

STEP_MM = 0.00254
HEAD = "P  JOB   INVENTED\nP  UNITS CUST 0\n"


def record(ref, pin, x_mm, y_mm, *, hole="", layer="01", net="NET", wide="0300"):
    """One record: the columns are those that the reader names."""
    code = "317" if hole else "327"
    at = f"X{round(x_mm / STEP_MM):+07d}Y{round(y_mm / STEP_MM):+07d}X{wide}Y{wide}"
    return f"{code}{net:<14}   {ref:<6}-{pin:<4} {hole:<6}A{layer}{at}\n"


def pair(ref, x_mm, y_mm, **how):
    return record(ref, "1", x_mm - 0.8, y_mm, **how) + record(ref, "2", x_mm + 0.8, y_mm, **how)


def row(ref, x_mm, y_mm, pins, pitch_mm, **how):
    return "".join(record(ref, str(i + 1), x_mm + i * pitch_mm, y_mm, **how) for i in range(pins))


SPOTS = {f"R{i}": (9 * i, 5 * i) for i in range(1, 7)}
PAIRS = "".join(pair(ref, *at) for ref, at in SPOTS.items())
PLACED = "Ref,Value,Footprint,X (mm),Y (mm),Rotation,Side\n"
RESISTORS = PLACED + "".join(f"{ref},10k,0603,{x},{y},0,top\n" for ref, (x, y) in SPOTS.items())


@pytest.fixture
def lands(tmp_path):
    def read(text, head=HEAD):
        file = tmp_path / "board.net"
        file.write_text(head + text + "999\n")
        return lands_of_parts(read_here(str(file), b""))

    return read


@pytest.fixture
def board(tmp_path):
    def read(netlist, further="", **files):
        (tmp_path / "placements.csv").write_text(RESISTORS + further)
        (tmp_path / "test.txt").write_text(netlist)
        for name, text in files.items():
            (tmp_path / name.replace("__", ".")).write_text(text)
        return read_board(tmp_path)

    return read


def body(board, ref):
    return board.bodies[board.placements.part_type[board.placements.ref.index(ref)]]


def notes(board):
    return [n.said.key for n in board.notes if not isinstance(n.said, str) and n.said.key.startswith("fabrication")]


def test_a_row_states_pins_pitch_and_holes(lands):
    found = lands(row("J1", 10, 10, 6, 2.54, hole="D0400P", layer="00", wide="0600"))["J1"]
    assert (found.pins, found.pitch, found.mounting) == (6, (2.54, 2.54), Mounting.THROUGH_HOLE)


def test_lands_without_a_hole_are_on_the_surface_of_their_side(lands):
    found = lands(pair("C1", 5, 5) + pair("C2", 9, 9, layer="04"))
    assert [(p.pins, p.pitch, p.mounting, p.side) for p in found.values()] == [
        (2, None, Mounting.SURFACE, "top"),
        (2, None, Mounting.SURFACE, "bottom"),
    ]


@pytest.mark.parametrize(
    ("text", "why"),
    [
        (row("U1", 0, 0, 4, 1.27, hole="D0080P", layer="00"), "a narrow hole is a via"),
        (row("U1", 0, 0, 4, 1.27, hole="D0400U", layer="00"), "a hole without metal is a peg"),
        (row("U1", 0, 0, 4, 1.27) + record("U1", "5", 9, 9, hole="D0400P", layer="00"), "both"),
        (record("U1", "1", 0, 0) + record("U1", "1", 0, 0, layer="02"), "a land on each side"),
    ],
)
def test_lands_of_two_sorts_state_no_mounting(lands, text, why):
    assert lands(text)["U1"].mounting is None, why


def test_a_hole_on_a_record_of_its_own_is_of_the_land_before(lands):
    both = record("J1", "1", 5, 5, hole=" " * 6).replace("D", " ", 0) + record("J1", "1", 5, 5, layer="04").replace(
        "327", "017"
    )
    hole = "017NET" + " " * 20 + "-     D0500PA00X+001969Y+001969\n"
    assert lands(both + hole)["J1"].mounting is Mounting.THROUGH_HOLE
    via = "317NET              VIA   -     D0500PA00X+000100Y+000100X0600Y0600\n"
    assert lands(pair("C1", 1, 1) + via + hole)["C1"].mounting is Mounting.SURFACE


def test_a_missing_number_leaves_the_count_open_unless_open_pins_are_listed(lands):
    some = row("U1", 0, 0, 3, 1.27) + record("U1", "8", 9, 0)
    assert lands(some)["U1"].pins is None
    assert lands(some + record("U2", "1", 20, 20, net="N/C"))["U1"].pins == 4


def test_a_pin_at_two_places_leaves_pins_pitch_and_middle_open(lands):
    """A panel repeats references, and a land pattern for two parts repeats pins."""
    found = lands(row("U1", 0, 0, 4, 1.27) + row("U1", 50, 0, 4, 1.27))["U1"]
    assert (found.pins, found.pitch, found.middle) == (None, None, None)


def test_staggered_rows_state_no_pitch(lands):
    """Leads bent to two rows by turns lie at half the distance of the lands of one row."""
    zigzag = "".join(record("J1", str(i + 1), 0.8 * i, 2.5 * (i % 2)) for i in range(7))
    assert lands(zigzag)["J1"].pitch is None


def test_rows_across_each_other_have_one_pitch(lands):
    sides = [(i * 0.5, y) for y in (0, 5) for i in range(8)] + [
        (x, 0.75 + i * 0.5) for x in (-0.9, 4.4) for i in range(8)
    ]
    text = "".join(record("U1", str(i + 1), *at, wide="0100") for i, at in enumerate([*sides, (1.75, 2.5)]))
    found = lands(text)["U1"]
    assert (found.pins, found.pitch) == (33, (0.5, 0.5))


@pytest.mark.parametrize(("unit", "pitch"), [("CUST 0", 2.54), ("CUST 1", 1.0), ("SI", 1.0), ("CUST 7", None)])
def test_the_unit_says_what_a_step_is(lands, unit, pitch):
    found = lands(row("J1", 0, 0, 4, 2.54), head=f"P  UNITS {unit}\n")["J1"]
    assert found.pitch == (None if pitch is None else (pitch, pitch))


def test_what_a_netlist_states_is_a_source_with_its_line(board):
    header = row("J1", 60, 10, 5, 2.0, hole="D0350P", layer="00", wide="0500")
    read = board(HEAD + PAIRS + header + "999\n", "J1,,HDR,64,10,0,top\n")
    found = body(read, "J1")
    assert (found.pins, found.mounting) == (5, Mounting.THROUGH_HOLE)
    assert (found.pitch.value, found.pitch.basis, found.pitch.source) == (
        Interval(2.0, 2.0),
        Basis.STATED,
        "test.txt:15 J1",
    )
    assert [(file.role, file.path.endswith("test.txt")) for file in read.inputs if file.role == "fabrication"] == [
        ("fabrication", True)
    ]


def test_lands_that_differ_from_the_name_are_a_conflict(board):
    read = board(HEAD + PAIRS + row("U1", 60, 10, 5, 1.27) + "999\n", "U1,,SOIC-8,64,10,0,top\n")
    assert [d for said in body(read, "U1").conflicts if "test.txt:15 U1" in (d := sentence(said))]
    assert body(read, "U1").pins is None


def test_a_part_in_holes_that_is_named_as_on_the_surface_is_a_conflict(board):
    drilled = pair("C1", 60, 10, hole="D0400P", layer="00", wide="0600")
    read = board(HEAD + PAIRS + drilled + "999\n", "C1,1u,C0603,60,10,0,top\n")
    assert any("through hole" in sentence(said) for said in body(read, "C1").conflicts)


def test_what_is_no_part_stays_none_though_it_has_lands(board):
    """Lands say how something is soldered, not whether anything is: a test cable is held to them by hand."""
    read = board(HEAD + PAIRS + row("J1", 60, 10, 6, 1.27) + "999\n", "J1,plug of nails,,63.175,10,0,top\n")
    assert body(read, "J1").mounting is not Mounting.SURFACE


def test_a_reference_that_was_cut_counts_where_one_part_alone_begins_so(board):
    five = row("CONNEC", 60, 10, 5, 2.0)
    one = board(HEAD + PAIRS + five + "999\n", "CONNECT7,,,64,10,0,top\n")
    assert body(one, "CONNECT7").pins == 5
    two = board(HEAD + PAIRS + five + "999\n", "CONNECT7,,,64,10,0,top\nCONNECT8,,,64,30,0,top\n")
    assert body(two, "CONNECT7").pins is None


def test_the_netlist_of_another_board_is_not_used(board):
    moved = "".join(pair(ref, 80 - 2 * x, y * y) for ref, (x, y) in SPOTS.items())
    read = board(HEAD + moved + "999\n")
    assert notes(read) == ["fabrication.another board"]
    assert not any(name.joints for name in read.types)


def test_another_unit_than_stated_is_another_board(board):
    assert notes(board(HEAD.replace("CUST 0", "CUST 1") + PAIRS + "999\n")) == ["fabrication.another board"]


def test_a_constant_shift_is_none_of_the_parts(board):
    shifted = "".join(pair(ref, x + 100, y - 30) for ref, (x, y) in SPOTS.items())
    read = board(HEAD + shifted + "999\n")
    assert notes(read) == ["fabrication.used"]
    assert not [d for d in read.discrepancies if d.topic is Topic.AGAINST_LANDS]


def test_a_part_beside_its_lands_or_on_the_other_side_is_asked(board):
    text = HEAD + PAIRS + pair("C1", 60, 10) + pair("C2", 70, 10, layer="02") + "999\n"
    read = board(text, "C1,1u,0603,60.4,10,0,top\nC2,1u,0603,70,10,0,top\n")
    asked = {d.said.key: d.refs for d in read.discrepancies if d.topic is Topic.AGAINST_LANDS}
    assert asked == {"fabrication.off its lands": ("C1",), "fabrication.other side": ("C2",)}


def test_a_header_may_have_its_origin_at_pin_1(board):
    header = pair("J1", 60, 10, hole="D0400P", layer="00", wide="0600")
    read = board(HEAD + PAIRS + header + "999\n", "J1,,HDR,59.2,10,0,top\n")
    assert not [d for d in read.discrepancies if d.topic is Topic.AGAINST_LANDS]


def test_board_toml_turns_it_off_and_names_it(board):
    text = HEAD + PAIRS + "999\n"
    assert notes(board(text, board__toml="fabrication = false\n")) == []
    assert notes(board(text, board__toml='fabrication = ["test.txt"]\n')) == ["fabrication.used"]
    named = 'placements = "placements.csv"\nfabrication = "test.txt"\n'
    with pytest.raises(InputError, match="fabrication"):
        board(text, board__toml=named)
    with pytest.raises(InputError, match="neither a netlist"):
        board(text, board__toml='fabrication = ["placements.csv"]\n')
    with pytest.raises(InputError, match="leads out"):
        board(text, board__toml='fabrication = ["../test.txt"]\n')


def test_it_is_found_in_an_archive_beside_the_placements(tmp_path):
    (tmp_path / "placements.csv").write_text(RESISTORS)
    with zipfile.ZipFile(tmp_path / "fabrication.zip", "w") as archive:
        archive.writestr("board.net", HEAD + PAIRS + "999\n")
    read = read_board(tmp_path)
    assert "fabrication.used" in notes(read)
    assert [str(f.path).endswith("fabrication.zip/board.net") for f in read.inputs if f.role == "fabrication"] == [True]


@pytest.mark.parametrize(
    ("text", "told"),
    [
        (HEAD + "999\n", ["fabrication.not read"]),
        (HEAD + PAIRS[:-60], ["fabrication.used"]),
        (HEAD + PAIRS + "327NET              C9    -1          A0", ["fabrication.damaged", "fabrication.used"]),
        (HEAD + PAIRS.replace("X+", "X" + "9" * 400 + "+"), ["fabrication.damaged", "fabrication.too few"]),
        (HEAD + "\0" * 1000 + PAIRS, ["fabrication.used"]),
    ],
)
def test_a_damaged_netlist_is_noted_and_the_rest_goes_on(board, text, told):
    read = board(text)
    assert sorted(notes(read)) == sorted(told)
    assert len(read.placements) == len(SPOTS)


def test_a_netlist_without_end_is_refused_in_time(tmp_path, in_time):
    file = tmp_path / "long.txt"
    file.write_text(HEAD + record("U1", "1", 1, 1) * 205_000)
    with in_time(2), pytest.raises(InputError, match="lands"):
        read_here(str(file), b"")


def test_a_large_ball_grid_has_its_pitch_in_time(lands, in_time):
    balls = "".join(record("U1", f"{i}", 0.8 * (i % 200), 0.8 * (i // 200)) for i in range(10_000))
    with in_time(2):
        found = lands(balls)["U1"]
        assert found.pitch == (0.8, 0.8)
