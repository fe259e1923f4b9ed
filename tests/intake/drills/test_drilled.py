"""A drill file beside the outline counts: its holes without metal are openings, and what it does not tell is asked.

Figures: invented, or the digits of the text.
"""

import pytest

from capcheck.intake.read import read_package
from capcheck.lexicon import sentence
from capcheck.model import Topic

PLACED = "Ref,X (mm),Y (mm),Rotation,Side\n" + "".join(f"R{i},{9 * i},{5 * i},0,top\n" for i in range(1, 9))
EDGE = [(0, 0), (100, 0), (100, 80), (0, 80)]
METRIC = "M48\nMETRIC\nT1C4.000\n%\nG90\nT1\n"


@pytest.fixture
def board(tmp_path):
    import ezdxf

    drawing = ezdxf.new(units=4)
    drawing.modelspace().add_lwpolyline(EDGE, close=True, dxfattribs={"layer": "outline"})
    drawing.saveas(tmp_path / "outline.dxf")
    (tmp_path / "placements.csv").write_text(PLACED)

    def read(**files):
        for name, text in files.items():
            (tmp_path / name.replace("__", ".").replace("___", "-")).write_text(text)
        return read_package(tmp_path)

    return read


def asked(package):
    return [sentence(d.said) for d in package.discrepancies if d.topic is Topic.DRAWN_INSIDE]


@pytest.mark.parametrize(
    "text",
    [
        METRIC + "X30.0Y50.0\nM30\n",
        "M48\nMETRIC,TZ\nT1C4.000\n%\nT1\nX030000Y050000\nM30\n",
        "M48\nMETRIC,LZ\nT1C4.000\n%\nT1\nX03Y05\nM30\n",
        "M48\nMETRIC\nT1C4.000\n%\nT1\nX030000Y050000\nM30\n",
        "M48\nINCH\nT1C0.15748\n%\nT1\nX1.181102Y1.968504\nM30\n",
        "M48\nM72\nT1C0.15748\n%\nT1\nX011811Y019685\nM30\n",
        "T1 is none\n".replace("T1 is none\n", "") + METRIC.replace("METRIC", "METRIC,000.000") + "X30.0Y50.0\nM30\n",
    ],
)
def test_a_hole_without_metal_is_one_of_the_outline(board, text):
    package = board(npth__drl=text)
    ((x, y, size),) = package.outline.holes
    assert (x, y, size) == pytest.approx((30, 50, 4), abs=0.01)
    assert not asked(package)


def test_a_slot_without_metal_is_a_cut_out(board):
    package = board(npth__drl=METRIC + "X30.0Y50.0G85X40.0Y50.0\nM30\n")
    (ring,) = package.outline.polygon.interiors
    assert ring.bounds == pytest.approx((28, 48, 42, 52), abs=0.02)


def test_the_layer_of_a_gerber_drill_file_counts_too(board):
    text = "%FSLAX46Y46*%\n%MOMM*%\n%TF.FileFunction,NonPlated,1,2,NPTH,Drill*%\n%ADD10C,4.0*%\nD10*\n"
    package = board(holes__gbr=text + "X30000000Y50000000D03*\nM02*\n")
    assert package.outline.holes == ((30.0, 50.0, 4.0),)


def test_holes_with_metal_are_no_openings_and_no_question(board):
    package = board(pth__drl=METRIC + "X30.0Y50.0\nM30\n")
    assert not package.outline.holes
    assert not asked(package)


def test_of_holes_with_metal_or_without_the_large_ones_are_asked_about_once(board):
    package = board(drill__txt="M48\nMETRIC\nT1C4.000\nT2C0.3\n%\nT1\nX30.0Y50.0\nX60.0Y50.0\nT2\nX9.0Y9.0\nM30\n")
    (said,) = asked(package)
    assert "2 holes" in said
    assert [doubt.round_hole for doubt in package.outline.doubts] == [True, True]


def test_holes_beside_the_board_are_asked_about(board):
    (said,) = asked(board(npth__drl=METRIC + "X130.0Y150.0\nX30.0Y50.0\nM30\n"))
    assert "50%" in said


def test_commands_that_are_not_understood_are_asked_about(board):
    (said,) = asked(board(npth__drl=METRIC + "X30.0Y50.0\nM02X5.0\nM30\n"))
    assert "M02X5.0" in said


def test_a_hole_that_the_outline_shows_counts_once(board, tmp_path):
    import ezdxf

    drawing = ezdxf.readfile(tmp_path / "outline.dxf")
    drawing.modelspace().add_circle((30, 50), 2, dxfattribs={"layer": "outline"})
    drawing.saveas(tmp_path / "outline.dxf")
    assert len(board(npth__drl=METRIC + "X30.0Y50.0\nM30\n").outline.holes) == 1


@pytest.mark.parametrize(
    "lines",
    [
        [f"X{x / 1000:.3f}Y{y / 1000:.3f}" for x in range(1000, 99_000, 500) for y in range(1000, 79_000, 1000)],
        [f"X{x / 1000:.3f}Y1.0G85X{x / 1000:.3f}Y60.0" for x in range(1000, 99_000, 10)],
    ],
    ids=["holes", "slots"],
)
def test_more_openings_than_any_board_has_are_asked_about_in_time(board, lines, in_time):
    with in_time(2):
        read = board(npth__drl="\n".join((METRIC.rstrip(), *lines, "M30", "")))
    assert len(asked(read)) == 1
    assert f"{len(lines):,}" in asked(read)[0]


def test_a_hole_that_is_drilled_again_and_again_is_one(board):
    read = board(npth__drl=METRIC + "X30.0Y50.0\n" * 30_000 + "M30\n")
    assert len(read.outline.holes) == 1
    assert not asked(read)


@pytest.mark.parametrize("line", ["X90..0Y1.0", "X1.0Y1.0G85X2..0Y1.0", "X.Y1.0", "X1.0Y1.0G85nothing"])
def test_a_number_that_is_none_is_asked_about(board, line):
    read = board(npth__drl=f"{METRIC}X30.0Y50.0\n{line}\nM30\n")
    assert len(read.outline.holes) == 1
    assert [line.upper() in text for text in asked(read)] == [True]


def test_an_origin_that_is_no_number_is_asked_about(board):
    assert len(asked(board(npth__drl=f"{METRIC}G93X1..2Y0\nX30.0Y50.0\nM30\n"))) == 1
