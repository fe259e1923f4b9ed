"""The picture with the findings marked.

Figures: invented, or the digits of the text; an inch is 25.4 mm by definition.
"""

import re

import pytest

from capcheck.checking.answer import check
from capcheck.report.picture.marked_board import report_svg


@pytest.fixture(scope="module")
def picture(shop, tmp_path_factory):
    config = tmp_path_factory.mktemp("shop") / "capcheck.toml"
    config.write_text("[panel]\norder = false\n")
    return report_svg(check(shop / "irrigation-controller", line=shop / "lines" / "full.line.toml", config=config))


def test_a_part_too_near_to_a_rail_is_named_with_the_machine_that_objects(picture):
    assert re.search(r"D28: within the 5 mm keep-out along both conveyor edges on Odd-form placer", picture)


def test_the_marks_of_a_side_that_looks_alike_turned_round_are_numbered(picture):
    assert len(re.findall(r"\d+\s+FID4, FID5: turned by 180°, the fiducials of the bottom side", picture)) == 1


def test_the_strip_of_the_widest_clamp_is_drawn_along_both_long_edges_of_each_view(picture):
    assert picture.count('class="strip"') == 4


def test_nothing_is_marked_where_nothing_is_objected_to(shop):
    report = check(shop / "flow-sensor", line=shop / "lines" / "full.line.toml")
    assert not [f for f in report.findings if not f.undecided and f.subject.kind == "part on machine"]
    picture = report_svg(report)
    assert "to be free along" not in picture
    assert 'class="flag"' not in picture
