"""What looks like a proof and is none: lands of a neighbour, of another footprint, side, frame or file.

Figures: boards, places and lands are invented; names of lands spell the sizes that are meant.
"""

from itertools import pairwise

import numpy as np
import pytest
from msgspec.structs import replace

from capcheck.lands import lands_of_board, lands_of_types, settled_by_lands
from capcheck.model import Basis, How, LeadStyle, Measure, Mounting
from capcheck.values import Interval

DRILLS = "M48\n; #@! TF.FileFunction,Plated,1,2,PTH\nMETRIC\nT1C1.000\n%\nT1\n{hits}M30\n"


def of(found, ref):
    return found.lands.of.get(found.placements.ref.index(ref))


def body(found, ref):
    return found.bodies[int(found.placements.part_type[found.placements.ref.index(ref)])]


def notes(found):
    return {getattr(note.said, "key", "") for note in found.notes}


def test_a_header_placed_at_pin_1_has_its_row_and_not_what_lies_evenly_around(board, resistors, layer):
    """Seen on a public board: eight lands of neighbours lay evenly around pin 1, and none had a hole."""
    rows, mask = resistors
    paste = layer("Paste,Top")
    for x, y in [(float(r.split(",")[3]), float(r.split(",")[4])) for r in rows.splitlines()]:
        paste.pair(x, y)
    hits = ""
    for k in range(8):
        mask.disc(100 + 2.54 * k, 30, 1.6)
        hits += f"X{100 + 2.54 * k:.2f}Y30.0\n"
    for dx, dy in [(2.5, -4.0), (4.0, -6.0), (2.0, -8.0), (6.0, -3.0)]:
        for one in (mask, paste):
            one.land(100 - dx, 30 + dy, 1.3, 1 + dx / 10).land(100 + dx, 30 + dy, 1.3, 1 + dx / 10)
    found = board(rows + "J1,x,HDR8,100,30,0,top\n", mask, paste, pth__drl=DRILLS.format(hits=hits))
    assert (of(found, "J1").how, of(found, "J1").in_holes) == (How.COUNTED, True)
    assert of(found, "J1").pitch == pytest.approx((2.54, 2.54))
    assert body(found, "J1").mounting is Mounting.THROUGH_HOLE


def test_a_part_whose_place_two_files_dispute_has_no_lands(board, resistors):
    """At either place it may lie in the middle of a neighbour's lands."""
    found = board(*resistors)
    row = found.placements.ref.index("R1")
    disputed = replace(found.placements, place_open=np.arange(len(found.placements)) == row)
    footprints = [name.footprint for name in found.types]
    assert set(found.lands.of) - set(lands_of_board(found.lands.layers, disputed, found.bodies, footprints).of) == {row}


@pytest.mark.parametrize("more", [[(1.2, 0.0)], [(0.0, 2.0)]])
def test_a_footprint_of_whose_instances_one_has_more_lands_is_open(board, resistors, more):
    """A name that is cut short stands for several footprints: what all have in common is less than one has."""
    rows, mask = resistors
    filters = ""
    for i, (x, y) in enumerate([(60, 20), (75, 26), (90, 33)]):
        four = [(-1.2, -1.0), (-1.2, 1.0), (1.2, -1.0), (1.2, 1.0)]
        for dx, dy in four + (more if i == 1 else []):
            mask.land(x + dx, y + dy, 0.6, 0.5)
        filters += f"FL{i + 1},x,strange,{x},{y},0,top\n"
    found = board(rows + filters, mask)
    assert {of(found, f"FL{i}") for i in (1, 2, 3)} == {None}


@pytest.mark.parametrize("point", ["TP{i},x,testpoint,{x},{y},0,top\n", "FID{i},x,fiducial,{x},{y},0,top\n"])
def test_a_land_of_what_is_listed_beside_each_instance_is_not_the_footprints(board, resistors, point):
    rows, mask = resistors
    listed = ""
    for i, (x, y) in enumerate([(60, 20), (75, 26), (90, 33)], 1):
        for dx, dy in [(-1.2, -1.0), (-1.2, 1.0), (1.2, -1.0), (1.2, 1.0)]:
            mask.land(x + dx, y + dy, 0.6, 0.5)
        mask.disc(x + 0.1, y + 2.2, 1.0)
        listed += f"FL{i},x,strange,{x},{y},0,top\n" + point.format(i=i, x=x + 0.1, y=y + 2.2)
    found = board(rows + listed, mask)
    assert {None if of(found, f"FL{i}") is None else len(of(found, f"FL{i}").lands) for i in (1, 2, 3)} <= {None, 4}


def test_instances_whose_gaps_differ_prove_the_least_of_them(board, resistors):
    """One may have been given a neighbour's lands; the part is no longer for that."""
    rows, mask = resistors
    chips = ""
    for i, pitch in enumerate((1.6, 1.6, 2.2)):
        mask.pair(60 + 8 * i, 40, pitch=pitch)
        chips += f"C{i + 1},1u,somechip,{60 + 8 * i},40,0,top\n"
    found = board(rows + chips, mask)
    assert [round(of(found, f"C{i}").gap_mm, 3) for i in (1, 2, 3)] == [0.8, 0.8, 1.4]
    open_ = Measure(Interval(0.0, 9.0), Basis.BOUND, "invented")
    bodies = [
        replace(body, length=open_, width=open_, lead_style=LeadStyle.CHIP, oriented=False) for body in found.bodies
    ]
    own = lands_of_types(found.lands, found.placements)
    told, _ = settled_by_lands(bodies, own, found.placements, found.lands.file_of)
    assert told[int(found.placements.part_type[found.placements.ref.index("C3")])].length.low == pytest.approx(0.8)


def test_a_chip_soldered_along_its_longer_sides_is_not_turned_by_its_lands(board, resistors):
    """Its lands are as long as the chip, so that they reach as far apart as it is long."""
    rows, mask = resistors
    chips = ""
    for i in range(4):
        mask.pair(60 + 8 * i, 40, pitch=1.35, size=(0.75, 2.1))
        # An IPC-7351B name states its size, and not which sides are soldered.
        chips += f"C{i + 1},1u,CAPC2012X80N,{60 + 8 * i},40,0,top\n"
    found = board(rows + chips, mask)
    assert of(found, "C1").extent_mm == pytest.approx(2.1)
    assert not body(found, "C1").oriented


@pytest.mark.parametrize("off", [0.4, 0.8, 2.0])
def test_most_parts_placed_beside_their_lands_alike_shift_no_layer(board, layer, off):
    """Light-emitting diodes in one row of angles: by a shift most would lie right, and the rest would be wrong."""
    mask, rows = layer("Soldermask,Top"), ""
    for i in range(30):
        x, y = 7.0 * (i % 6) + 0.3 * (i % 4) + 5, 5.0 + 6.0 * (i // 6) + 0.7 * (i % 3)
        is_off = i % 5 < 3
        mask.pair(x, y)
        # IPC-7351B names state their sizes.
        name = "LEDC1608X50N" if is_off else "RESC1608X50N"
        rows += f"{'D' if is_off else 'R'}{i},x,{name},{x - (off if is_off else 0.0):.2f},{y:.2f},0,top\n"
    found = board(rows, mask)
    assert found.lands is None or found.lands.layers.registered["top"].shift == (0.0, 0.0)


def test_paste_in_another_frame_is_refused_though_the_mask_is_open_along_the_edge(board, resistors, layer, spots):
    rows, mask = resistors
    paste = layer("Paste,Top")
    for x, y in spots:
        paste.pair(x + 1.1, y + 1.3)
    corners = [(0, 0), (100, 0), (100, 30), (0, 30), (0, 0)]
    for (x, y), (to_x, to_y) in pairwise(corners):
        mask.track(x, y, to_x, to_y, 1.0)
    found = board(rows, mask, paste)
    assert "lands.beside the mask" in notes(found)
    assert {own.has_paste for own in found.lands.of.values()} == {None}


def test_lands_without_hole_and_paste_are_not_proved_to_be_on_the_surface(board, resistors, layer, spots):
    """A drill file may be missing: what is soldered on the surface has paste where the set shows any."""
    rows, mask = resistors
    paste = layer("Paste,Top")
    for x, y in spots:
        paste.pair(x, y)
    hits = "".join(f"X{50 + 2.5 * k}Y30.0\n" for k in range(3))
    for k in range(3):
        mask.disc(50 + 2.5 * k, 30, 1.7)
    for k in range(4):
        mask.disc(60 + 2.54 * k, 40, 1.7)
    found = board(rows + "J1,x,HDR4,60,40,0,top\n", mask, paste, pth__drl=DRILLS.format(hits=hits))
    assert of(found, "R1").in_holes is False
    assert body(found, "J1").mounting is not Mounting.SURFACE
    assert not body(found, "J1").conflicts


def test_drills_a_step_of_the_grid_beside_their_lands_prove_no_land_without_a_hole(board, resistors):
    """Of two headers at one step most of the moved holes of one meet lands; the rest lie nowhere."""
    rows, mask = resistors
    hits = ""
    for k in range(4):
        mask.disc(50 + 2.54 * k, 30, 1.7)
        hits += f"X{50 + 2.54 * (k + 2):.2f}Y30.0\n"
    for k in range(6):
        mask.disc(60 + 1.0 * k, 45, 1.6)
        hits += f"X{60 + 1.0 * k + 5.08:.2f}Y45.5\n"
    found = board(rows, mask, pth__drl=DRILLS.format(hits=hits))
    assert {own.in_holes for own in found.lands.of.values()} == {None}


def test_a_layer_of_the_other_side_under_the_name_of_this_one_proves_nothing(board, resistors, layer, spots):
    rows, mask = resistors
    below = layer("Soldermask,Bot")
    for x, y in spots:
        below.pair(90 - x, y, upright=True)
    mask.text, below.text = below.text, mask.text
    # An IPC-7351B name states its size.
    rows += "".join(f"C{i},1u,RESC1608X50N,{90 - x},{y},90,bottom\n" for i, (x, y) in enumerate(spots))
    found = board(rows, mask, below)
    assert found.lands is None or not found.lands.of


def test_a_mirrored_set_proves_nothing(board, resistors, layer):
    """A bottom that is drawn as it is seen lies nowhere on placements that are seen through the board."""
    rows, _ = resistors
    mask = layer("Soldermask,Top")
    for row in rows.splitlines():
        mask.pair(-float(row.split(",")[3]), float(row.split(",")[4]))
    found = board(rows, mask)
    assert found.lands is None or not found.lands.of


def test_lands_of_the_two_sides_count_for_their_own(board, resistors, layer, spots):
    """Parts of the bottom lie along the lands of the bottom, at angles that count either way."""
    rows, mask = resistors
    below = layer("Soldermask,Bot")
    for x, y in spots:
        below.pair(x, y + 2.0, upright=True)
    # An IPC-7351B name states its size.
    rows += "".join(f"C{i},1u,RESC1608X50N,{x},{y + 2.0},90,bottom\n" for i, (x, y) in enumerate(spots))
    found = board(rows, mask, below)
    assert {own.side for own in found.lands.of.values()} == {"top", "bottom"}
    assert {of(found, f"C{i}").along_y for i in range(12)} == {False}


def test_a_neighbour_that_nothing_lists_gives_no_part_its_lands(board, resistors):
    """Between the two lands of a large part lie those of one that is not listed."""
    rows, mask = resistors
    mask.land(60 - 3.0, 40, 1.5, 2.0).land(60 + 3.0, 40, 1.5, 2.0).pair(60, 40)
    found = board(rows + "L1,10u,strange,60,40,0,top\n", mask)
    assert of(found, "L1") is None
