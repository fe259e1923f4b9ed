"""What the layers of a board prove of its parts, and what they leave as it was.

Figures: boards, places and lands are invented; names of lands spell the sizes that are meant.
"""

import zipfile
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, strategies as st

from capcheck.checking import check, read_board
from capcheck.lands.registration import Spots, holds, register
from capcheck.model import How, LeadStyle, Mounting, Topic
from capcheck.shop import Choice

DRILLS = "M48\n; #@! TF.FileFunction,Plated,1,2,PTH\nMETRIC\nT1C1.000\n%\nT1\n{hits}M30\n"
SOIC = [(x, y) for x in (-2.7, 2.7) for y in (-1.905, -0.635, 0.635, 1.905)]
"""Lands of eight leads at 1.27 mm in two rows: multiples of half a pitch, by hand; the rows are invented."""


def of(found, ref):
    return found.lands.of[found.placements.ref.index(ref)]


def body(found, ref):
    return found.bodies[int(found.placements.part_type[found.placements.ref.index(ref)])]


def told(found, topic):
    return [d for d in found.decisions if d.topic is topic]


def test_two_land_parts_have_the_lands_in_whose_middle_they_lie(board, resistors):
    found = board(*resistors)
    assert {own.how for own in found.lands.of.values()} == {How.PAIR}
    assert (of(found, "R1").gap_mm, of(found, "R1").extent_mm) == pytest.approx((0.8, 2.4))
    assert len(told(found, Topic.LAYERS)) == 1


def test_a_part_lies_along_its_lands(board, resistors, layer):
    rows, mask = resistors
    assert body(board(rows, mask), "R1").oriented
    upright = layer("Soldermask,Top")
    for x, y in [(float(r.split(",")[3]), float(r.split(",")[4])) for r in rows.splitlines()]:
        upright.pair(x, y, upright=True)
    across = body(board(rows, upright), "R1")
    assert across.oriented
    assert across.width.low > across.length.high


def test_layers_of_another_board_are_not_used(board, resistors, layer):
    rows, _ = resistors
    mask = layer("Soldermask,Top")
    for i in range(40):
        mask.land(3.7 * (i % 8) + 0.4 * (i % 3), 2.9 * (i // 8) + 0.7 * (i % 2), 1 + i % 3, 1)
    found = board(rows, mask)
    assert found.lands is None
    assert not body(found, "R1").oriented
    assert [n.said.key for n in found.notes if getattr(n.said, "key", "").startswith("lands.")] == [
        "lands.another board"
    ]


def test_a_board_whose_layers_are_turned_off_is_as_without(board, resistors):
    rows, mask = resistors
    folder = board(rows, mask, read=False)
    (folder / "board.toml").write_text("layers = false\n")
    off = read_board(folder)
    assert off.lands is None
    (folder / "board.toml").write_text('[layers]\n"layer0.gbr" = "none"\n')
    assert read_board(folder).lands is None


def test_board_toml_names_a_layer_that_says_nothing_itself(board, resistors):
    rows, mask = resistors
    mask.text = mask.text.replace("%TF.FileFunction,Soldermask,Top*%\n", "")
    folder = board(rows, mask, read=False)
    assert read_board(folder).lands is None
    (folder / "board.toml").write_text('[layers]\n"layer0.gbr" = "mask top"\n')
    assert len(read_board(folder).lands.of) == 12


def test_layers_are_read_only_where_a_rule_asks_for_what_they_decide(board, resistors):
    folder = board(*resistors, read=False)
    asked = check(folder, choice=Choice(select=("centre-on-lands",)))
    assert asked.board.lands is not None
    other = check(folder, choice=Choice(select=("bom-given",)))
    assert other.board.lands is None


def test_as_many_lands_as_pins_prove_the_pitch(board, resistors):
    rows, mask = resistors
    for dx, dy in SOIC:
        mask.land(50 + dx, 30 + dy, 1.5, 0.6)
    found = board(rows + "U1,x,SOIC-8,50,30,0,top\n", mask)  # JEDEC MS-012: 8 leads at 1.27 mm
    assert of(found, "U1").how is How.COUNTED
    assert of(found, "U1").pitch == pytest.approx((1.27, 1.27))


def test_a_pitch_that_the_name_contradicts_is_a_conflict_and_no_override(board, resistors):
    rows, mask = resistors
    for dx, dy in SOIC:
        mask.land(50 + dx, 30 + dy * 0.65 / 1.27, 1.5, 0.3)
    # An IPC-7351B name states pitch and pins.
    found = board(rows + "U1,x,SOIC127P600X175-8N,50,30,0,top\n", mask)
    pitch = body(found, "U1").pitch
    assert (pitch.low <= 0.65, pitch.high >= 1.26) == (True, True)
    assert body(found, "U1").conflicts


def test_a_count_that_is_not_that_of_the_pins_proves_nothing(board, resistors):
    rows, mask = resistors
    for dx, dy in SOIC[:6]:
        mask.land(50 + dx, 30 + dy, 1.5, 0.6)
    found = board(rows + "U1,x,SOIC-8,50,30,0,top\n", mask)  # JEDEC MS-012: 8 leads at 1.27 mm
    assert found.placements.ref.index("U1") not in found.lands.of


def test_lands_without_a_hole_are_on_the_surface_and_with_leads_holes_are_not(board, resistors, layer):
    rows, mask = resistors
    paste = layer("Paste,Top")
    for x, y in [(float(r.split(",")[3]), float(r.split(",")[4])) for r in rows.splitlines()]:
        paste.pair(x, y)
    for k in range(4):
        mask.land(50, 30 + 2.54 * k, 1.7, 1.7)
    hits = "".join(f"X50.0Y{30 + 2.54 * k:.2f}\n" for k in range(4))
    found = board(rows + "J1,x,HDR4,50,30,90,top\n", mask, paste, pth__drl=DRILLS.format(hits=hits))
    assert of(found, "R1").in_holes is False
    assert (of(found, "J1").in_holes, of(found, "J1").has_paste) == (True, False)
    assert body(found, "J1").mounting is Mounting.THROUGH_HOLE


BARE = "M48\n; #@! TF.FileFunction,NonPlated,1,2,NPTH\nMETRIC\nT1C3.200\n%\nT1\nX90.0Y90.0\nM30\n"
LEADS = "M48\n; #@! TF.FileFunction,Plated,1,2,PTH\nMETRIC\nT1C1.000\n%\nT1\nX50.0Y30.0\nX52.5Y30.0\nX55.0Y30.0\nM30\n"


@pytest.mark.parametrize(
    "files",
    [
        {"bare__drl": BARE},
        {"one__drl": LEADS, "two__drl": LEADS.replace("M30", "X91.0Y9.0")},
        {"one__drl": LEADS, "two__drl": LEADS.replace("X50.0", "X5O.0")},
        {"one__drl": LEADS.replace("Y30.0", "Y40.0")},
    ],
)
def test_holes_that_are_not_all_known_prove_no_land_without_one(board, resistors, files):
    """Only holes without metal are listed, a file breaks off, a hole cannot be read, or drills have another frame."""
    rows, mask = resistors
    for k in range(3):
        mask.disc(50 + 2.5 * k, 30, 1.7)
    found = board(rows, mask, lead__drl=LEADS)
    assert {own.in_holes for own in found.lands.of.values()} == {False}
    Path(found.placements.files[0]).with_name("lead.drl").unlink()
    assert {own.in_holes for own in board(rows, mask, **files).lands.of.values()} == {None}


def test_a_layer_drawn_as_a_negative_is_not_read_as_one_that_is_none(board, resistors):
    rows, mask = resistors
    text = mask.write().replace("%MOMM*%", "%MOMM*%\n%IPNEG*%")
    assert board(rows, mask__gbr=text).lands is None


def test_without_a_drill_file_nothing_is_said_of_holes(board, resistors):
    assert {own.in_holes for own in board(*resistors).lands.of.values()} == {None}


def test_a_body_shorter_than_the_gap_of_its_lands_is_a_conflict(board, resistors):
    rows, mask = resistors
    mask.pair(60, 40, pitch=4.0).pair(70, 40, pitch=4.0)
    # IPC-7351B names state their sizes.
    found = board(rows + "C1,1u,CAPC1608X80N,60,40,0,top\nC2,1u,CAPC1608X80N,70,40,0,top\n", mask)
    assert [said.key for said in body(found, "C1").misfits] == ["lands.shorter than the gap"]
    assert not np.isfinite(body(found, "C1").length.high)
    assert body(found, "R1").misfits == ()


def test_parts_placed_on_pad_1_are_told_with_their_way_by_footprint(board, resistors):
    rows, mask = resistors
    capacitors = ""
    for i in range(4):
        mask.pair(50 + 6 * i, 40, pitch=2.0, size=(1.0, 1.3))
        # An IPC-7351B name states its size.
        capacitors += f"C{i + 1},1u,CAPC2013X100N,{49 + 6 * i},40,0,top\n"
    folder = board(rows + capacitors, mask, read=False)
    found = check(folder, choice=Choice(select=("centre-on-lands",)))
    assert {f.subject.ref for f in found.findings} == {"C1", "C2", "C3", "C4"}
    assert {fact.text for f in found.findings for fact in f.facts if fact.name == "part.way_off"} <= {"1.00, 0.00 mm"}


def test_a_part_turned_by_a_quarter_against_its_footprint_is_told(board, resistors):
    rows, mask = resistors
    mask.pair(60, 40, upright=True)
    # An IPC-7351B name states its size.
    folder = board(rows + "R13,10k,RESC1608X50N,60,40,0,top\n", mask, read=False)
    found = check(folder, choice=Choice(select=("rotation-fits-lands",)))
    assert [f.subject.ref for f in found.findings] == ["R13"]


def test_of_two_pairs_of_coordinates_the_one_in_the_middle_of_lands_counts(board, resistors):
    rows, mask = resistors
    pads = "".join(
        f"{ref},{value},{footprint},{float(x) - 0.8:.2f},{y},{x},{y},{turn},{side}\n"
        for ref, value, footprint, x, y, turn, side in (row.split(",") for row in rows.splitlines())
    )
    found = board(pads, mask, title="X (mm),Y (mm),Pad X (mm),Pad Y (mm)")
    assert found.placements.x_mm[0] == pytest.approx(7.3)
    assert [d.choice.key for d in told(found, Topic.PLACEMENTS) if not isinstance(d.choice, str)][-1:] == [
        "lands.other columns"
    ]


@pytest.mark.parametrize("first_is_right", [True, False])
def test_of_two_files_the_one_that_places_the_middles_of_lands_counts_though_it_agrees_nowhere(
    board, layer, spots, first_is_right
):
    """One holds pad 1 of each part, in another direction from the middle for each angle; names are of IPC-7351B."""
    mask, middles, pads = layer("Soldermask,Top"), "", ""
    for i, (x, y) in enumerate(spots):
        turn = 90 * (i % 4)
        dx, dy = [(-0.8, 0.0), (0.0, -0.8), (0.8, 0.0), (0.0, 0.8)][i % 4]
        mask.pair(x, y, upright=bool(i % 2))
        # IPC-7351B: a chip of 1.6 x 0.8 mm.
        middles += f"R{i},10k,RESC1608X50N,{x:.3f},{y:.3f},{turn},top\n"
        pads += f"R{i},10k,RESC1608X50N,{x + dx:.3f},{y + dy:.3f},{turn},top\n"
    first, second = (middles, pads) if first_is_right else (pads, middles)
    found = board(first, mask, second__csv=f"Ref,Value,Footprint,X (mm),Y (mm),Rotation,Side\n{second}")
    assert found.placements.x_mm == pytest.approx([x for x, _ in spots])
    assert found.placements.y_mm == pytest.approx([y for _, y in spots])
    assert [d.choice.key for d in told(found, Topic.PLACEMENTS)] == [
        "lands.first file" if first_is_right else "lands.other file"
    ]
    assert {lands.how for lands in found.lands.of.values()} == {How.PAIR}
    assert not found.discrepancies


def test_repeated_footprints_have_what_all_of_them_show(board, resistors):
    rows, mask = resistors
    filters = ""
    for i, (x, y) in enumerate([(60, 20), (75, 26), (90, 33)]):
        for dx, dy in [(-1.2, -1.0), (-1.2, 1.0), (1.2, -1.0), (1.2, 0.0), (1.2, 1.0)]:
            mask.land(x + dx, y + dy, 0.6, 0.5)
        filters += f"FL{i + 1},x,strange-5,{x},{y},0,top\n"
    found = board(rows + filters, mask)
    assert {(of(found, f"FL{i}").how, len(of(found, f"FL{i}").lands)) for i in (1, 2, 3)} == {(How.REPEATED, 5)}


@given(
    st.lists(st.tuples(st.integers(0, 900), st.integers(0, 900)), min_size=20, max_size=60, unique=True),
    st.integers(-5000, 5000),
    st.integers(-5000, 5000),
)
def test_a_shift_is_found_or_nothing_is_used(cells, dx, dy):
    """Lands lie to their placements by whatever shift: it is found to a tenth of a millimetre, or refused."""
    places = np.array(cells, dtype=float) * 0.37
    shift = np.array([dx, dy]) / 100
    lands = [
        (x + s - 0.4 - shift[0], y - 0.3 - shift[1], x + s + 0.4 - shift[0], y + 0.3 - shift[1])
        for x, y in places.tolist()
        for s in (-0.8, 0.8)
    ]
    found = register(Spots(np.array(lands)), places)
    if holds(found) and np.hypot(*(np.array(found.shift) - shift)) > 0.1:
        # Another shift holds only where the lands repeat themselves, for half of the parts or more.
        assert found.match < 1.0
    assert not holds(found) or found.match >= 0.5


def test_parts_that_repeat_in_a_grid_have_no_sure_shift():
    places = np.array([(5.0 * i, 5.0 * j) for i in range(8) for j in range(8)])
    boxes = np.array([(x + s - 0.4, y - 0.3, x + s + 0.4, y + 0.3) for x, y in places + 52.0 for s in (-0.8, 0.8)])
    assert not holds(register(Spots(boxes), places))


def test_chips_are_what_is_turned_by_lands_alone(board, resistors):
    assert body(board(*resistors), "R1").lead_style is LeadStyle.CHIP


def test_layers_in_an_archive_beside_the_placements_are_read_and_named_by_it(board, resistors):
    rows, mask = resistors
    folder = board(rows, mask, read=False)
    with zipfile.ZipFile(folder / "plots.zip", "w") as archive:
        archive.write(folder / "layer0.gbr", "layer0.gbr")
    (folder / "layer0.gbr").unlink()
    found = read_board(folder)
    assert len(found.lands.of) == 12
    (lies,) = told(found, Topic.LAYERS)
    assert lies.place.file == str(folder / "plots.zip/layer0.gbr")
    assert str(folder / "plots.zip/layer0.gbr") in {file.path for file in found.inputs}


def test_layers_that_were_read_are_among_the_inputs(board, resistors):
    """An earlier result holds only as long as they are the same."""
    assert "layer0.gbr" in {file.path.rpartition("/")[2] for file in board(*resistors).inputs}


def test_of_two_layers_that_say_the_same_of_themselves_none_is_used(board, resistors, layer, tmp_path):
    """One may be of an earlier revision; board.toml says which is meant, or not, and a copy is the same layer."""
    rows, mask = resistors
    old = layer("Soldermask,Top").disc(50, 30, 1)

    def told(found):
        return [n.said.values["files"] for n in found.notes if getattr(n.said, "key", "") == "lands.several of a kind"]

    found = board(rows, mask, mask)
    assert found.lands is not None
    assert told(found) == []
    found = board(rows, mask, old)
    assert found.lands is None
    assert [sorted(files) for files in told(found)] == [["layer0.gbr", "layer1.gbr"]]
    for entry in ('"layer1.gbr" = "none"', '"layer0.gbr" = "mask top"'):
        (tmp_path / "board.toml").write_text(f"[layers]\n{entry}\n")
        found = board(rows, mask, old)
        assert found.lands is not None
        assert told(found) == []
    (tmp_path / "board.toml").write_text('[layers]\n"layer0.gbr" = "mask top"\n"layer1.gbr" = "mask top"\n')
    assert told(board(rows, mask, old)) != []
