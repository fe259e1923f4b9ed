"""The shop's library: what is written in it is found again, and what cannot be read is refused with its place.

Figures: the shop's library is invented.
"""

import csv
import io
import zipfile

import pytest

from capcheck.model import Basis, PartName
from capcheck.packages.bodies import library_template
from capcheck.packages.bodies.explanation import explain
from capcheck.packages.bodies.weighing import bodies_of
from capcheck.packages.library import load_library
from capcheck.values.errors import InputError
from capcheck.values.interval import Interval


def library(tmp_path, text, name="bodies.csv"):
    path = tmp_path / name
    path.write_text(text, encoding="utf-8")
    return load_library(path)


def body(name, found):
    return bodies_of([name], library=found)[0]


def test_units_stand_in_the_title_or_in_the_cell(tmp_path):
    found = library(
        tmp_path,
        "part number,length [mm],width (mil),height,mass [mg],pins\nQX-100,4.0,118.110236,1.1 ± 0.1 mm,12,4\n",
    )
    part = body(PartName(part_number="QX-100"), found)
    assert part.length.value == Interval(4.0, 4.0)
    assert part.width.low == pytest.approx(3.0)
    assert (part.height.low, part.height.high) == pytest.approx((1.0, 1.2))
    assert part.mass.low == pytest.approx(0.012)
    assert part.pins == 4
    assert part.length.basis is Basis.LIBRARY
    assert part.length.source == "shop library bodies.csv:2"


def test_the_longer_side_is_the_length(tmp_path):
    found = library(tmp_path, "footprint,length [mm],width [mm]\nBOX,2,5\n")
    part = body(PartName(footprint="BOX"), found)
    assert (part.length.high, part.width.high) == (5, 2)


def test_a_length_along_x_stays_as_it_is(tmp_path):
    found = library(tmp_path, "footprint,length [mm],width [mm],length along x\nBOX,2,5,yes\n")
    part = body(PartName(footprint="BOX"), found)
    assert (part.length.high, part.width.high, part.oriented) == (2, 5, True)


@pytest.mark.parametrize(
    ("number", "footprint", "height"),
    [
        ("QX-100", "BOX", 1.0),  # both keys, exact
        ("QX-100", "other", 2.0),  # the part number alone, exact
        ("QX-101", "BOX", 3.0),  # the footprint alone, exact
        ("QX-101", "other", 4.0),  # the pattern with more letters
        ("QX-2", "other", 5.0),
        ("qx-100", "box", 1.0),  # capitals make no difference
    ],
)
def test_the_most_particular_entry_is_used(tmp_path, number, footprint, height):
    found = library(
        tmp_path,
        "part number,footprint,height [mm]\nQX-*,,5\nQX-10?,,4\n,BOX,3\nQX-100,,2\nQX-100,BOX,1\n",
    )
    assert body(PartName(part_number=number, footprint=footprint), found).height.high == height


# SOIC-8: pitch 1.27 mm, 4.9 x 3.9 mm; TSSOP-8: 0.65 mm, 3.0 x 4.4 mm: reference/package_outlines.csv.
@pytest.mark.parametrize(
    ("row", "width", "pitch", "disputed"),
    [
        (",,0.65", (2.85, 8.25), 0.65, ("pitch",)),
        (",,1.27", (3.7, 4.1), 1.27, ()),
        ("3.0,4.4,0.65", (3.0, 3.0), 0.65, ()),
    ],
)
def test_a_pitch_alone_settles_no_size_that_another_package_has(tmp_path, row, width, pitch, disputed):
    text = f"part number,length [mm],width [mm],pitch [mm]\nLM999PWR,{row}\n"
    name = PartName(part_number="LM999PWR", footprint="SOIC127P600X175-8N", ref_prefix="U")
    found = body(name, library(tmp_path, text))
    assert (found.width.low, found.width.high) == pytest.approx(width)
    assert found.pitch.value.is_exact
    assert found.pitch.low == pitch
    assert found.disputed == disputed


def test_a_pattern_of_two_keys_needs_both(tmp_path):
    found = library(tmp_path, "part number,footprint,height [mm]\nQX-*,BOX*,4\n")
    assert body(PartName(part_number="QX-1", footprint="BOX-2"), found).height.high == 4
    assert not body(PartName(part_number="QX-1", footprint="other"), found).height.value.is_known
    assert not body(PartName(part_number="other", footprint="BOX-2"), found).height.value.is_known


def test_brackets_in_a_name_are_no_pattern(tmp_path):
    found = library(tmp_path, "footprint,height [mm]\nBOX[2]*,4\n")
    assert body(PartName(footprint="BOX[2]-a"), found).height.high == 4
    assert not body(PartName(footprint="BOX2-a"), found).height.value.is_known


def test_what_one_entry_leaves_open_another_fills_in(tmp_path):
    found = library(tmp_path, "part number,footprint,length [mm],width [mm],height [mm]\nQX-1,,,,3\n,BOX,5,4,\n")
    part = body(PartName(part_number="QX-1", footprint="BOX"), found)
    assert (part.length.high, part.width.high, part.height.high) == (5, 4, 3)


def test_semicolons_and_a_byte_order_mark_are_read(tmp_path):
    path = tmp_path / "bodies.csv"
    path.write_bytes("footprint;height [mm]\nBOX;2.5\n".encode("utf-8-sig"))
    assert body(PartName(footprint="BOX"), load_library(path)).height.high == 2.5


SHEET = """<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData>{}</sheetData></worksheet>"""


def workbook(path, rows):
    """Write the least workbook that there is: text cells as inline strings, numbers as numbers."""
    lines = []
    for cells in rows:
        xml = "".join(
            f"<c><v>{c}</v></c>" if isinstance(c, int | float) else f'<c t="inlineStr"><is><t>{c}</t></is></c>'
            for c in cells
        )
        lines.append(f"<row>{xml}</row>")
    package = "http://schemas.openxmlformats.org/package/2006"
    office = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
    main = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
    with zipfile.ZipFile(path, "w") as archive:
        archive.writestr(
            "[Content_Types].xml",
            f'<Types xmlns="{package}/content-types"><Default Extension="rels" '
            'ContentType="application/vnd.openxmlformats-package.relationships+xml"/></Types>',
        )
        archive.writestr(
            "_rels/.rels",
            f'<Relationships xmlns="{package}/relationships"><Relationship Id="r1" '
            f'Type="{office}/officeDocument" Target="xl/workbook.xml"/></Relationships>',
        )
        archive.writestr(
            "xl/workbook.xml",
            f'<workbook xmlns="{main}" xmlns:r="{office}"><sheets><sheet name="bodies" sheetId="1" r:id="r1"/>'
            "</sheets></workbook>",
        )
        archive.writestr(
            "xl/_rels/workbook.xml.rels",
            f'<Relationships xmlns="{package}/relationships"><Relationship Id="r1" Type="{office}/worksheet" '
            'Target="worksheets/sheet1.xml"/></Relationships>',
        )
        archive.writestr("xl/worksheets/sheet1.xml", SHEET.format("".join(lines)))


def test_a_workbook_is_read_like_a_csv(tmp_path):
    path = tmp_path / "bodies.xlsx"
    workbook(path, [["part number", "height [mm]", "pins"], ["QX-1", 2.5, 8], [402, 1.5, 2]])
    found = load_library(path)
    assert body(PartName(part_number="QX-1"), found).height.high == 2.5
    assert body(PartName(part_number="QX-1"), found).pins == 8
    # A number typed as the key is the text that was typed, not 402.0.
    assert body(PartName(part_number="402"), found).height.high == 1.5


@pytest.mark.parametrize(
    ("text", "place", "words"),
    [
        ("part number,hight [mm]\nQX,1\n", "bodies.csv:1 hight [mm]", 'did you mean "height"?'),
        ("part number,height\nQX,1.2\n", "bodies.csv:2 height", "no unit"),
        ("part number,height [mm]\nQX,tall\n", "bodies.csv:2 height", '"tall" is not a length'),
        ("part number,height [mm]\nQX,-1\n", "bodies.csv:2 height", "negative"),
        ("part number,height [mm]\nQX,0\n", "bodies.csv:2 height", "no part has a height of 0"),
        ("part number,height [mm]\nQX,2 g\n", "bodies.csv:2 height", "mass"),
        ("part number,pins\nQX,2.5\n", "bodies.csv:2 pins", "whole number"),
        ("part number,lead style\nQX,gul wing\n", "bodies.csv:2 lead style", 'did you mean "gull wing"?'),
        ("height [mm]\n2\n", "bodies.csv:1", "neither"),
        ("part number,footprint,height [mm]\n,,2\n", "bodies.csv:2", "neither a part number nor a footprint"),
        ("part number,height [mm]\nQX,1\nQX,2\n", "bodies.csv:3", "bodies.csv:2"),
        ("", "bodies.csv", "empty"),
    ],
)
def test_what_cannot_be_read_is_refused_with_its_place(tmp_path, text, place, words):
    with pytest.raises(InputError) as error:
        library(tmp_path, text)
    shown = [str(p) for p in error.value.problems]
    assert any(place in line and words in line for line in shown)


def test_all_problems_of_a_library_are_told_together(tmp_path):
    with pytest.raises(InputError) as error:
        library(tmp_path, "part number,height [mm]\nA,tall\nB,high\n")
    assert len(error.value.problems) == 2


def test_a_missing_file_and_a_broken_workbook_are_input_errors(tmp_path):
    with pytest.raises(InputError):
        load_library(tmp_path / "none.csv")
    broken = tmp_path / "broken.xlsx"
    broken.write_bytes(b"PK\x03\x04nonsense")
    with pytest.raises(InputError):
        load_library(broken)


UNKNOWN = [
    PartName(part_number="QX-100", footprint="SPECIAL-1", ref_prefix="U", value="sensor", where="bom.csv:4"),
    PartName(part_number="QX-100", footprint="SPECIAL-1", ref_prefix="U", value="other sensor"),
    PartName(footprint="SPECIAL-2", ref_prefix="J"),
    PartName(footprint="RES-0603-1608M", ref_prefix="R"),  # size_codes.csv
    PartName(value="no name at all"),
]


def test_a_template_lists_each_unknown_part_once():
    text = library_template(UNKNOWN, bodies_of(UNKNOWN))
    rows = list(csv.DictReader(io.StringIO(text)))
    assert [(r["part number"], r["footprint"]) for r in rows] == [("QX-100", ""), ("", "SPECIAL-2")]
    assert rows[0]["what is missing"] == "length, width, height, pitch, lead style, mounting"


def test_an_unfilled_template_states_nothing_and_is_no_error(tmp_path):
    found = library(tmp_path, library_template(UNKNOWN, bodies_of(UNKNOWN)))
    assert len(found) == 0


def test_what_was_filled_in_is_used_at_the_next_run(tmp_path):
    rows = list(csv.DictReader(io.StringIO(library_template(UNKNOWN, bodies_of(UNKNOWN)))))
    for row in rows:
        row.update(
            {
                "length [mm]": "6",
                "width [mm]": "4",
                "height [mm]": "1.5",
                "lead style": "no lead",
                "pitch [mm]": "0.5",
                "mounting": "surface",
            }
        )
    out = io.StringIO()
    writer = csv.DictWriter(out, rows[0].keys())
    writer.writeheader()
    writer.writerows(rows)
    bodies = bodies_of(UNKNOWN, library=library(tmp_path, out.getvalue()))
    for found in bodies[:3]:
        assert (found.length.high, found.width.high, found.height.high, found.lead_style) == (6, 4, 1.5, "no lead")
        assert found.length.basis is Basis.LIBRARY
    rest = list(csv.DictReader(io.StringIO(library_template(UNKNOWN, bodies))))
    assert rest == []


def test_a_drilled_part_is_not_asked_for():
    names = [PartName(footprint="pin header 1x04 pitch2.54mm THT", ref_prefix="J")]
    assert list(csv.DictReader(io.StringIO(library_template(names, bodies_of(names))))) == []


def test_what_a_part_comes_in_is_taken_from_the_library_as_stated(tmp_path):
    text = "part number,supply,tape width [mm],tape pitch,pocket depth [mm],reel diameter [mm],parts per reel,nozzle\n"
    found = library(tmp_path, f"{text}QX-100,tape,24,12 mm,4.3,330,500,N 8\n")
    part = body(PartName(part_number="QX-100"), found)
    measures = (part.tape_width, part.tape_pitch, part.pocket_depth, part.reel)
    assert [m.value for m in measures] == [Interval.exactly(v) for v in (24.0, 12.0, 4.3, 330.0)]
    assert {m.basis for m in measures} == {Basis.LIBRARY}
    assert (part.supply, part.parts_per_reel, part.nozzle) == ("tape", 500, "N 8")


def test_what_is_lost_of_a_part_may_be_nothing_and_is_counted(tmp_path):
    found = library(tmp_path, "part number,lost per thousand\nQX-100,3\nQX-200,0\n")
    assert [body(PartName(part_number=n), found).lost_per_thousand for n in ("QX-100", "QX-200", "QX-300")] == [
        3,
        0,
        None,
    ]
    with pytest.raises(InputError, match="lost per thousand are counted"):
        library(tmp_path, "part number,lost per thousand\nQX-100,0.5\n")


def test_half_a_part_is_on_no_reel(tmp_path):
    with pytest.raises(InputError, match="parts per reel are counted"):
        library(tmp_path, "part number,parts per reel\nQX-100,500.5\n")


@pytest.mark.parametrize("cell", ["-8", "0", "8 g", "wide"])
def test_a_tape_that_cannot_be_is_refused_with_its_place(tmp_path, cell):
    with pytest.raises(InputError, match="tape width"):
        library(tmp_path, f"part number,tape width [mm]\nQX-100,{cell}\n")


# Figures: invented in round numbers.
def test_forces_and_leads_below_the_body_are_kept_and_told_in_their_units(tmp_path):
    found = library(tmp_path, "part number,force needed [N],force allowed,lead length\nXQ9901-99,20,1 to 3 N,120 mil\n")
    part = body(PartName(part_number="XQ9901-99"), found)
    assert (part.force_needed.high, part.force_allowed.low, part.lead_length.high) == (20, 1, pytest.approx(3.048))
    told = "\n".join(explain(PartName(part_number="XQ9901-99"), library=found))
    assert "force needed 20 N" in told
    assert "lead length 3.048 mm" in told
