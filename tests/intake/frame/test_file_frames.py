"""Placement files that count from different origins are brought together where the outline tells, else it is asked.

Figures: invented, or the digits of the text.
"""

import tomllib

import numpy as np
import pytest
import shapely

from capcheck.intake.frame.file_frames import FileRows, frames_of
from capcheck.intake.frame.registration import Wanted
from capcheck.intake.read import read_package
from capcheck.model import Kind, Outline, Side

# An L-shaped contour: no mirror image and no turn of it fits itself.
SHAPE = shapely.Polygon([(10, 20), (110, 20), (110, 60), (60, 60), (60, 100), (10, 100)])
HOLES = ((14.0, 24.0, 3.2), (106.0, 24.0, 3.2), (14.0, 96.0, 3.2))
OUTLINE = Outline(SHAPE, HOLES)


def rows(file, side, shift=(0.0, 0.0), *, count=200, holes=True, origin=None):
    """Return parts all over the contour and the holes' rows, as a file writes them that counts from *shift*."""
    rng = np.random.default_rng(len(file))
    x, y = rng.uniform(12, 108, 3 * count), rng.uniform(22, 98, 3 * count)
    inside = np.flatnonzero(shapely.contains_xy(SHAPE.buffer(-1), x, y))[:count]
    x, y = x[inside], y[inside]
    kind = np.zeros(len(x), dtype=np.int8)
    if holes:
        x, y = np.append(x, [h[0] for h in HOLES]), np.append(y, [h[1] for h in HOLES])
        kind = np.append(kind, np.full(3, Kind.MECHANICAL, dtype=np.int8))
    sides = np.full(len(x), int(side), dtype=np.int8)
    return FileRows(file, x - shift[0], y - shift[1], sides, kind, origin)


def test_files_of_one_frame_stay_in_it():
    frames, decisions = frames_of([rows("top", Side.TOP), rows("bottom", Side.BOTTOM)], OUTLINE, Wanted())
    assert frames[0] == frames[1]
    assert frames[0].shift == (0, 0)
    assert {d.place for d in decisions} == {None}


def test_a_shift_that_all_files_share_is_found_from_all():
    both = [rows("top", Side.TOP, (30, -40)), rows("bottom", Side.BOTTOM, (30, -40))]
    frames, decisions = frames_of(both, OUTLINE, Wanted())
    assert [frame.shift for frame in frames] == [pytest.approx((30, -40))] * 2
    assert not any(d.open for d in decisions)


def test_files_with_different_origins_are_brought_together_by_their_holes():
    both = [rows("top", Side.TOP), rows("bottom", Side.BOTTOM, (-50, 35))]
    frames, decisions = frames_of(both, OUTLINE, Wanted())
    assert frames[0].shift == (0, 0)
    assert frames[1].shift == pytest.approx((-50, 35))
    origins = {d.place.file: d for d in decisions if d.topic == "origin"}
    assert set(origins) == {"top", "bottom"}
    assert not any(d.open for d in origins.values())


def test_where_one_file_does_not_tell_its_origin_it_is_asked():
    few = rows("few", Side.BOTTOM, (-300, 0), count=4, holes=False)
    _, decisions = frames_of([rows("top", Side.TOP), few], OUTLINE, Wanted())
    assert any(d.open and d.topic == "origin" for d in decisions)


def test_a_stated_origin_of_one_file_is_taken_and_leaves_the_others_alone():
    both = [rows("top", Side.TOP), rows("few", Side.BOTTOM, (-300, 0), count=4, holes=False, origin=(-300.0, 0.0))]
    frames, decisions = frames_of(both, OUTLINE, Wanted())
    assert [frame.shift for frame in frames] == [(0, 0), (-300, 0)]
    assert not any(d.open and d.topic == "origin" for d in decisions)


@pytest.mark.parametrize(("shift", "asked"), [((0, 0), False), ((-60, 10), False), ((-300, 0), True), ((0, 250), True)])
def test_without_an_outline_files_that_lie_apart_are_a_question(shift, asked):
    _, decisions = frames_of([rows("top", Side.TOP), rows("bottom", Side.BOTTOM, shift)], None, Wanted())
    assert any(d.open and d.topic == "origin" for d in decisions) is asked


def settled_files(decisions):
    """Return the files that the settle text of the open question names, and those of them with an origin."""
    (decision,) = [d for d in decisions if d.open and d.topic == "origin"]
    entries = tomllib.loads(decision.settle)["placements"]
    return [e["file"] for e in entries], [e["file"] for e in entries if "origin" in e], decision.place.file


@pytest.mark.rows("odd", [0, 1, 2])
@pytest.mark.rows("outline", [OUTLINE, None])
def test_the_question_names_every_file_and_asks_the_origin_of_the_one_that_is_apart(odd, outline):
    names = ["a.csv", "b.csv", "c.csv"]
    far = [(-300, 0) if k == odd else (0, 0) for k in range(3)]
    found = [
        rows(n, Side.TOP, shift, count=4 if shift[0] else 60, holes=False) for n, shift in zip(names, far, strict=True)
    ]
    _, decisions = frames_of(found, outline, Wanted())
    assert settled_files(decisions) == (names, [names[odd]], names[odd])


def single(file, x):
    return FileRows(file, np.array([x]), np.array([5.0]), np.zeros(1, dtype=np.int8), np.zeros(1, dtype=np.int8))


def test_two_files_of_one_part_each_do_not_tell_that_they_lie_apart():
    _, decisions = frames_of([single("top", 3.0), single("bottom", 5.0)], None, Wanted())
    assert not any(d.open and d.topic == "origin" for d in decisions)


def test_one_part_far_from_the_many_of_the_other_file_is_a_question():
    for both in ([rows("top", Side.TOP), single("one", 900.0)], [single("one", 900.0), rows("top", Side.TOP)]):
        _, decisions = frames_of(both, None, Wanted())
        assert settled_files(decisions)[1] == ["one"]


def test_board_toml_states_the_origin_of_one_file(tmp_path):
    head = "Ref,Value,Footprint,X (mm),Y (mm),Rotation\n"
    (tmp_path / "a-top.csv").write_text(head + "".join(f"R{k},1k,0603,{3 * k},{k},0\n" for k in range(9)))
    (tmp_path / "b-bottom.csv").write_text(head + "".join(f"C{k},1n,0603,{3 * k},{k + 900},0\n" for k in range(9)))
    package = read_package(None, placements=[tmp_path / "a-top.csv", tmp_path / "b-bottom.csv"])
    assert [d.topic for d in package.decisions if d.open] == ["origin"]
    (tmp_path / "board.toml").write_text(
        'placements = [{ file = "a-top.csv" }, { file = "b-bottom.csv", origin = { x = "1 mm", y = "-900 mm" } }]\n'
    )
    package = read_package(tmp_path)
    assert not any(d.open for d in package.decisions)
    placed = dict(zip(package.placements.ref, package.placements.x_mm.tolist(), strict=True))
    assert (placed["R1"], placed["C1"]) == (3.0, 4.0)
    assert package.placements.y_mm.max() == 8.0
