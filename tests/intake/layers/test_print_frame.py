"""Print counts as print of a board where it reaches as far as the lands do, and keeps off them.

Figures: layers, lands and distances are invented.
"""

import numpy as np
import pytest

from capcheck.intake.confined.frames import encoded
from capcheck.intake.layers.around import Windows, around_here
from capcheck.intake.layers.role import layer_of
from capcheck.values import InputError

HEAD = "%FSLAX46Y46*%\n%MOMM*%\n%ADD10C,0.15*%\nD10*\n"
PLACES = [(6.0 * i + 0.7 * (j % 3), 5.0 * j + 0.9 * (i % 2)) for i in range(10) for j in range(10)]
LANDS = [(x + dx - 0.4, y - 0.5, x + dx + 0.4, y + 0.5) for x, y in PLACES for dx in (-0.8, 0.8)]
FAR = (-3.0, -3.0)
"""A place beside all print."""


def at(x, y, code):
    return f"X{round(x * 1e6)}Y{round(y * 1e6)}D0{code}*\n"


def framed(places, off=(0.0, 0.0), factor=1.0):
    """Print of a frame around each part."""
    text = HEAD
    for x, y in places:
        corners = [(-1.5, -0.8), (1.5, -0.8), (1.5, 0.8), (-1.5, 0.8), (-1.5, -0.8)]
        for number, (dx, dy) in enumerate(corners):
            text += at(factor * (x + dx + off[0]), factor * (y + dy + off[1]), 2 if number == 0 else 1)
    return text + "M02*\n"


def around(tmp_path, text, lands=LANDS):
    (tmp_path / "legend.gbr").write_text(text)
    [found] = around_here(str(tmp_path / "legend.gbr"), encoded(Windows([FAR], [1.0], lands)))
    return found


def test_frames_around_parts_are_print_of_their_board(tmp_path):
    assert around(tmp_path, framed(PLACES)) == (0.0, 1.0)


@pytest.mark.parametrize("off", [(0.0, 0.7), (1.0, 0.5), (-0.8, -0.6), (40.0, 0.0), (0.0, -30.0)])
def test_print_from_another_origin_is_refused(tmp_path, off):
    with pytest.raises(InputError, match="another origin"):
        around(tmp_path, framed(PLACES, off))


# An inch is 25.4 mm by definition.
@pytest.mark.parametrize("factor", [25.4, 1 / 25.4, 10.0, 0.1])
def test_print_in_another_unit_or_format_is_refused(tmp_path, factor):
    with pytest.raises(InputError, match="another unit"):
        around(tmp_path, framed(PLACES, factor=factor))


def test_a_dot_that_each_footprint_prints_on_its_land_is_of_their_board(tmp_path):
    """Print all over the board but for its lands meets them in many ways where it is moved; the dots do in one."""
    every = [(1.13 * i - 1, 1.17 * j - 1) for i in range(52) for j in range(42)]
    free = [(x, y) for x, y in every if not any(a <= x <= c and b <= y <= d for a, b, c, d in LANDS)]
    dots = [(x - 0.6, y) for x, y in PLACES for _ in range(4)]
    text = HEAD + "".join(at(x, y, 3) for x, y in [*free, *dots]) + "M02*\n"
    assert around(tmp_path, text) == (0.0, 1.0)


def test_print_of_half_the_board_is_print_of_it(tmp_path):
    assert around(tmp_path, framed(PLACES[:50])) == (0.0, 1.0)


def test_print_on_lands_is_of_their_board_where_both_files_state_one_frame(tmp_path):
    (tmp_path / "legend.gbr").write_text(framed(PLACES, (0.0, 0.7)))
    windows = Windows([FAR], [1.0], LANDS, shares_frame=True)
    assert around_here(str(tmp_path / "legend.gbr"), encoded(windows)) == [(0.0, 1.0)]


@pytest.mark.parametrize(
    ("further", "frame"),
    [
        ("TF.SameCoordinates,Original*", "invented,9,A; 2020-01-02; Original"),
        ("TF.SameCoordinates,PX1*", "invented,9,A; 2020-01-02; PX1"),
        ("TF.SameCoordinates*", ""),
        ("", ""),
    ],
)
def test_the_frame_is_what_a_file_states_of_project_day_and_origin(tmp_path, further, frame):
    head = "%TF.FileFunction,Legend,Top*%\n%TF.ProjectId,invented,9,A*%\n%TF.CreationDate,2020-01-02T03:04:05*%\n"
    head += f"%{further}%\n" * bool(further) + HEAD
    assert layer_of(tmp_path / "legend.gbr", head.encode()).frame == frame


def test_a_layer_that_prints_nothing_is_print_of_every_board(tmp_path):
    assert around(tmp_path, HEAD + "M02*\n") == (0.0, 1.0)


def test_copper_is_held_to_no_lands(tmp_path):
    assert around(tmp_path, framed(PLACES, (0.0, 0.7)), lands=[]) == (0.0, 1.0)


def test_print_of_another_board_seldom_agrees_by_chance(tmp_path):
    """Frames at a hundred places of no pattern, as far as the lands reach: fewer than one in ten seem to keep off."""
    rng, taken = np.random.default_rng(1), 0
    for _ in range(40):
        places = [(x, y) for x, y in rng.uniform((0.0, 0.0), (55.0, 46.0), (100, 2)).tolist()]
        try:
            around(tmp_path, framed(places))
            taken += 1
        except InputError:
            pass
    assert taken < 4
