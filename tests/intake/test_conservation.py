"""Nothing is lost: every row of the placements and of the bill of materials is answered, or is a finding.

The folders are generated: rows of all sorts, remarks, totals, titles, further tables. The report in JSON is asked for
each reference and each part number that was written, by the command.

Figures: invented, or the digits of the text; an inch is 25.4 mm by definition.
"""

import csv
import io
import json
import re

import pytest
from depth import sample_size
from hypothesis import example, given, settings, strategies as st

from capcheck import check
from capcheck.report import load_format
from capcheck.values import InputError

PLACED = ["Ref", "Value", "Footprint", "X (mm)", "Y (mm)", "Rotation", "Side"]
LISTED = ["References", "Value", "Package", "Quantity", "Part number", "Description"]
LETTERS = st.sampled_from(["R", "C", "U", "J", "D", "TP", "FID", "H", "MH", "DS", "REF", "MK", "LOGO", "SJ", "NT"])
TEXTS = st.sampled_from(
    ["", "10k", "graphic LCD", "4holes", "through hole", "test pad", "tooling ball", "fiducial", "logo module", "DNP",
     "no load switch", "Total sum", "not mounted", "page 2", "end sensor", "Bohrung", "silkscreen"]
)  # fmt: skip
MARKS = st.sampled_from(["", "", "", "#", "# ", "//", ";", "--", "*"])


@st.composite
def folders(draw):
    """Return placement rows and BOM rows, each as (mark, cells), and what stands between the rows."""
    refs = draw(st.lists(st.tuples(LETTERS, st.integers(1, 99)), min_size=2, max_size=8, unique=True))
    names = [f"{letters}{number}" for letters, number in refs]
    places = [
        (draw(MARKS), [ref, draw(TEXTS), draw(TEXTS), str(10 + 7 * k), "20", "0", "top"])
        for k, ref in enumerate(names)
        if draw(st.booleans())
    ]
    lines = [
        (
            draw(MARKS),
            [draw(st.sampled_from([ref, ref, ref, ""])), draw(TEXTS), draw(TEXTS), "1", f"PN-{k}77", draw(TEXTS)],
        )
        for k, ref in enumerate(names)
        if draw(st.booleans())
    ]
    some = draw(
        st.sampled_from([[], [], [[]], [["Total", "12"]], [["Mechanical parts"]], [[], LISTED], [["end of list"]]])
    )
    at = draw(st.integers(0, len(names)))
    return places, lines, [some if k == at else [] for k in range(len(lines))]


def text_of(rows):
    stream = io.StringIO()
    csv.writer(stream, lineterminator="\n").writerows(rows)
    return stream.getvalue()


def marked(mark, cells):
    return [mark + cells[0], *cells[1:]]


def told(report):
    """Return all that is answered: texts of the parts, and of what is asked."""
    asked = [json.dumps(f) for f in report["findings"]]
    asked += [json.dumps(d) for d in report["discrepancies"]]
    return "\n".join([*map(json.dumps, report["parts"]), *asked, *map(json.dumps, report["bom"] or [])])


def holds(text, name):
    return re.search(rf"(?<![A-Za-z0-9]){re.escape(name)}(?![0-9])", text) is not None


@settings(max_examples=sample_size(50))
@given(folders())
@example(([], [("", ["", "", "Total sum", "1", "PN-177", ""])], [[]]))
@example(([("", ["R1", "10k", "", "10", "20", "0", "top"])], [("#", ["U9", "", "", "1", "PN-177", ""])], [[]]))
def test_every_row_is_answered_or_a_finding(tmp_path_factory, folder):
    places, lines, between = folder
    tmp_path = tmp_path_factory.mktemp("board")
    first = ["R500", "10k", "RESC1608X55N", "5", "5", "0", "top"]
    rows = [PLACED, first, *(marked(*place) for place in places)]
    (tmp_path / "placements.csv").write_text(text_of(rows))
    if lines:
        rows = [LISTED, ["R500", "10k", "0603", "1", "PN-500", "resistor"]]
        for line, more in zip(lines, between, strict=True):
            rows += [marked(*line), *more]
        (tmp_path / "bom.csv").write_text(text_of(rows))
    try:
        report = check(placements=[tmp_path / "placements.csv"], bom=tmp_path / "bom.csv" if lines else None)
    except InputError:
        return  # refused as a whole: nobody takes that for a pass
    found = told(json.loads(load_format("json").render(report)))
    for _, cells in places:
        assert holds(found, cells[0]), cells
    for _, cells in lines:
        assert holds(found, cells[0] or cells[4]), cells


PLACE = text_of([PLACED, ["R1", "10k", "RESC1608X55N", "10", "20", "0", "top"]])
LIST = text_of([LISTED, ["R1", "10k", "0603", "1", "PN-1", "resistor"]])


@pytest.mark.parametrize(
    ("placements", "bom", "rule"),
    [
        (PLACE, LIST + "U9,IC,SOIC-8,1,PN-9,amp\n", "in-placements"),
        (PLACE, LIST + "#U9,IC,SOIC-8,1,PN-9,amp\n", "no-row-left-out"),
        (PLACE, LIST + "-- U9,IC,SOIC-8,1,PN-9,amp\n", "no-row-left-out"),
        (PLACE, LIST + "#,IC,SOIC-8,1,PN-9,amp\n", "in-placements"),
        (PLACE, LIST + "#4-40 screw,,,8,PN-9,\n", "no-row-left-out"),
        (PLACE, "U9,IC,SOIC-8,1,PN-9,amp\n" + LIST, "no-row-left-out"),
        (PLACE, LIST + ",,,1,PN-9,U9 heat sink\n", "reference-on-every-line"),
        (PLACE, LIST + "\n\nSpares\n" + LIST.replace("R1,", "U9,"), "in-placements"),
        (PLACE, LIST + f"U9,IC,SOIC-8,1,PN-9,amp{',x' * 60}\n", "no-row-left-out"),
        (PLACE + "# U9,IC,SOIC-8,50,20,0,top\n", None, "no-row-left-out"),
        ("U9,IC,SOIC-8,50,20,0,top\n" + PLACE, None, "no-row-left-out"),
        (
            PLACE.replace("R1", "r1") + "R1,10k,RESC1608X55N,40,20,0,top\n",
            LIST.replace("R1", '"R1,U9"'),
            "in-placements",
        ),
        (PLACE + "U9,IC,SOIC-8,50,20,0,top\n", LIST + "U9,IC,SOIC-8,1,PN-9,switch no load current\n", "fitted-by-both"),
        (PLACE + "U9,IC,SOIC-8,50,20,0,top\n", LIST + "U9,IC,SOIC-8,1,PN-9,heat sink not mounted\n", "fitted-by-both"),
    ],
)
def test_a_row_that_leaves_a_list_is_a_finding(placements, bom, rule, tmp_path):
    (tmp_path / "placements.csv").write_text(placements)
    if bom is not None:
        (tmp_path / "bom.csv").write_text(bom)
    report = check(placements=[tmp_path / "placements.csv"], bom=tmp_path / "bom.csv" if bom else None)
    assert rule in {f.rule for f in report.findings}, [f.message for f in report.findings]


def test_remarks_totals_and_headings_are_no_parts(tmp_path):
    (tmp_path / "placements.csv").write_text(f"# made by A. Person, rev B2, units mm\n{PLACE}# end\nTotal,1\n")
    (tmp_path / "bom.csv").write_text(f"Resistors,,,,,\n{LIST}Total,,,1,,\nPage 1 of 1,,,,,\n")
    report = check(placements=[tmp_path / "placements.csv"], bom=tmp_path / "bom.csv")
    assert {"no-row-left-out", "reference-on-every-line"}.isdisjoint({f.rule for f in report.findings})


def test_a_second_sheet_of_the_same_parts_keeps_what_it_says_differently(tmp_path):
    (tmp_path / "placements.csv").write_text(PLACE)
    refs = [f"R{k}" for k in range(1, 12)]
    first = text_of([LISTED, *([ref, "10k", "0603", "1", "PN-1", ""] for ref in refs)])
    second = text_of(
        [LISTED, *([ref, "10k", "0603", "1", "PN-1", ""] for ref in refs[1:]), ["U9", "", "", "1", "PN-9", ""]]
    )
    (tmp_path / "bom.csv").write_text(f"{first}\n\nBy number\n{second}")
    lines = check(placements=[tmp_path / "placements.csv"], bom=tmp_path / "bom.csv").board.bom
    assert sum(line.refs == ("U9",) for line in lines) == 1
