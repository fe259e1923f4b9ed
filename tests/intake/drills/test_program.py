"""Drill programs are read as the published format describes them.

Figures: invented, or the digits of the text; an inch is 25.4 mm by definition.
"""

import pytest

from capcheck.intake.drills.file import read_here
from capcheck.intake.drills.program import (
    Way,
    is_program,
    plating_by_name,
    points_of_drills,
    read_program,
    ways_of_drills,
)

HEAD = "M48\nMETRIC\nT1C4.000\n%\nG90\nT1\n"


def drilled(text, plated=None):
    program = read_program(text, plated)
    (way, *_) = ways_of_drills(program)
    return [(points_of_drills([hole], way)[0], hole.size, hole.plated) for hole in program.drilled]


# An inch is 25.4 mm by definition.
@pytest.mark.rows(
    ("zeros", "written", "inches"),
    [
        # The worked example of flatcam.org/fileformats: INCH,LZ reads X12345 as 12.3450 and Y023456 as 2.3456.
        # An inch is 25.4 mm by definition.
        ("leading", "12345", 12.345),
        ("leading", "023456", 2.3456),
        ("trailing", "12345", 1.2345),
        ("trailing", "023456", 2.3456),
        ("trailing", "-5", -0.0005),
        ("leading", "1.5", 1.5),
    ],
)
def test_zeros_left_out_are_filled_in_on_their_side(zeros, written, inches):
    assert Way("inch", zeros, (2, 4)).number(written) == pytest.approx(25.4 * inches)


def test_a_hit_repeats_the_coordinate_that_it_leaves_out():
    assert drilled(HEAD + "X30.0Y50.0\nX40.0\nY20.5\nM30\n", plated=False) == [
        ([(30.0, 50.0)], 4.0, False),
        ([(40.0, 50.0)], 4.0, False),
        ([(40.0, 20.5)], 4.0, False),
    ]


def test_slots_and_routes_are_lines():
    text = HEAD + "X1.0Y2.0G85X3.0Y2.0\nG00X10.0Y10.0\nM15\nG01X20.0Y10.0\nG01X20.0Y15.0\nM16\nG05\nX7.0Y7.0\nM30\n"
    assert [points for points, _, _ in drilled(text)] == [
        [(1.0, 2.0), (3.0, 2.0)],
        [(10.0, 10.0), (20.0, 10.0), (20.0, 15.0)],
        [(7.0, 7.0)],
    ]


def test_an_arc_is_routed_through_its_middle():
    ((points, _, _),) = drilled(HEAD + "G00X10.0Y10.0\nM15\nG03X12.0Y10.0A1.0\nM16\nM30\n")
    assert any(x == pytest.approx(11.0, abs=0.1) and y == pytest.approx(9.0, abs=0.1) for x, y in points)


def test_attributes_tell_the_plating_of_the_tools_below_them():
    text = (
        "M48\n; #@! TF.FileFunction,MixedPlating,1,2\nMETRIC\n; #@! TA.AperFunction,Plated,PTH,ViaDrill\nT1C0.3\n"
        "; #@! TA.AperFunction,NonPlated,NPTH,ComponentDrill\nT2C3.2\n%\nT1\nX1.0Y1.0\nT2\nX9.0Y9.0\nM30\n"
    )
    assert [(size, plated) for _, size, plated in drilled(text)] == [(0.3, True), (3.2, False)]


@pytest.mark.rows(
    ("name", "plated"),
    [
        ("board-NPTH.drl", False),
        ("board-PTH.drl", True),
        ("non-plated.txt", False),
        ("drill_plated.xln", True),
        ("bohr_ndk.drl", False),
        ("holes.drl", None),
    ],
)
def test_the_name_tells_the_plating(name, plated):
    assert plating_by_name(name) is plated


def test_repeated_hits_go_on_by_equal_steps():
    assert [points[0] for points, _, _ in drilled(HEAD + "X1.0Y1.0\nR2X2.0\nM30\n")] == [(1, 1), (3, 1), (5, 1)]


def test_what_is_not_understood_is_named():
    assert read_program(HEAD + "G91\nX1.0Y1.0\nM02X5.0\n", None).unread == ["G91", "M02X5.0"]


@pytest.mark.rows(
    ("text", "is_one"),
    [
        (HEAD + "X1.0Y1.0\n", True),
        (HEAD + "G00X1.0Y1.0\nM15\nG01X5.0Y1.0\nM16\n", True),
        ("; made today\nM48\nINCH,LZ\nT01C0.02\n%\nT01\nX0123Y0456\n", True),
        ("%\nT01\nX609600Y226060\nM00\n", True),
        ("%FSLAX46Y46*%\n%MOMM*%\nX1Y1D03*\n", False),
        ("Ref,X,Y\nR1,1,1\n", False),
        ("M48 is the name of a part\n", False),
    ],
)
def test_drill_programs_are_told_by_content(text, is_one):
    assert is_program(text.encode()) is is_one


def test_a_program_that_states_its_plating_in_a_comment_is_no_gerber_layer(tmp_path):
    file = tmp_path / "holes.drl"
    file.write_text("M48\n; #@! TF.FileFunction,NonPlated,1,2,NPTH\nMETRIC\nT1C3.000\n%\nT1\nX30.0Y50.0\nM30\n")
    found = read_here(str(file), b"")
    assert [(hole.size, hole.plated) for hole in found.drilled] == [(3.0, False)]
