"""What a list says of a part in other ways than a cell under a plain title: letters, rows below, capitals, far angles.

Figures: boards, parts and sizes are invented.
"""

import ezdxf
import pytest
import xlsxwriter

from capcheck import check

PLACED = ["Ref,X [mm],Y [mm],Rotation,Side,Value,Footprint"]
MACHINE = """name = "M"
[board]
min_length = "50 mm"
max_length = "400 mm"
min_width = "50 mm"
max_width = "300 mm"
[[head]]
name = "H"
max_part_height = "10 mm"
max_body_length = "20 mm"
max_body_width = "20 mm"
"""


@pytest.fixture
def asked(make_line, tmp_path):
    line = make_line(MACHINE)

    def ask(listed, *, placed=(), rotation="0"):
        folder = tmp_path / "board"
        folder.mkdir(exist_ok=True)
        rows = [*PLACED, f"L1,20,20,{rotation},top,10u,IND 4x4x1.8mm", "R1,40,20,0,top,1k,RESC1608X55N", *placed]
        (folder / "placements.csv").write_text("\n".join(rows) + "\n")
        (folder / "bom.csv").write_text("\n".join(listed) + "\n")
        (folder / "board.toml").write_text(
            'bom = "bom.csv"\nthickness = "1.6 mm"\noutline = "o.dxf"\norigin = { x = "0 mm", y = "0 mm" }\n'
        )
        drawing = ezdxf.new(units=4)
        drawing.modelspace().add_lwpolyline([(0, 0), (120, 0), (120, 90), (0, 90)], close=True)
        drawing.saveas(folder / "o.dxf")
        return check(folder, line=line)

    return ask


def not_passed(report, ref="L1"):
    return {f.rule for f in report.findings if ref in str(f.subject.ref)}


PLAIN = ["Ref,Part number,Qty,Length [mm],Width [mm],Height [mm]", "L1,QX-1W,1,4,4,1.8", "R1,QX-2W,1,,,"]


def test_the_plain_list_passes(asked):
    assert "part-height" not in not_passed(asked(PLAIN))


@pytest.mark.parametrize(
    "titles",
    [
        "Length [mm],Width [mm],H",
        "Length [mm],Width [mm],H max",
        "Length [mm],Width [mm],max. H",
        "Length [mm],Width [mm],h_max",
        "Length [mm],Width [mm],Body H",
        "Length [mm],Width [mm],Part Z (mm)",
        "Length [mm],Width [mm],Profile",
        "Length [mm],Width [mm],Aufbauhöhe",
        "L,B,H",
        "L,W,H",
        "L,W,T",
        "L (mm),W (mm),H (mm)",
    ],
)
def test_a_height_under_a_letter_counts(asked, titles):
    found = not_passed(asked([f"Ref,Part number,Qty,{titles}", "L1,QX-1W,1,4,4,30", "R1,QX-2W,1,,,"]))
    assert "part-height" in found


def test_letters_that_are_no_sides_stay_what_they_are(asked):
    report = asked(["Ref,Part number,Qty,W,Pos", "L1,QX-1W,1,0.25,1", "R1,QX-2W,1,0.1,2"])
    assert "part-height" not in not_passed(report)


@pytest.mark.parametrize("title", ["Stand-off + body [mm]", "Spec"])
def test_a_length_that_nobody_says_the_meaning_of_leaves_the_part_open(asked, title):
    cell = "30" if "mm" in title else "H=30"
    report = asked([f"Ref,Part number,Qty,{title}", f"L1,QX-1W,1,{cell}", f"R1,QX-2W,1,{cell}"])
    assert not_passed(report)


@pytest.mark.parametrize("below", [",,,,,30", ",,,60,70,", ",,,,30,30"])
def test_a_row_that_states_more_of_the_part_above_leaves_it_open(asked, below):
    report = asked([PLAIN[0], PLAIN[1], below, PLAIN[2]])
    assert "part-height" in not_passed(report)
    assert "part-height" not in not_passed(report, "R1")


def test_a_height_in_the_row_below_a_placement_leaves_the_body_open_and_not_the_place(asked):
    report = asked(
        [*PLAIN[:1], "L1,QX-1W,1,,,", "R1,QX-2W,1,,,"], placed=["U9,60,40,0,top,v,SOT-23", ",,,,,30 mm tall,"]
    )
    assert "part-located" not in not_passed(report, "U9")
    assert not_passed(report, "U9")


def test_a_title_and_a_total_are_no_rows_that_go_on(asked):
    report = asked([*PLAIN, "Total,,2,,,", ",,2,,,"])
    assert "part-height" not in not_passed(report)


def test_references_that_differ_by_capitals_alone_are_asked_about(asked):
    report = asked([*PLAIN, "U1,QX-3W,1,3,2,1"], placed=["U1,60,40,0,top,v,SOT-23", "u1,80,40,0,top,v,SOT-23"])
    assert any(f.rule == "one-row-a-reference" for f in report.findings)


@pytest.mark.parametrize("rotation", ["9000", "-1800", "90000"])
def test_an_angle_of_many_turns_is_none(asked, rotation):
    assert any("angle" in str(d.choice.key) for d in asked(PLAIN, rotation=rotation).board.decisions)


def test_two_turns_are_an_angle(asked):
    assert not any("angle" in str(d.choice.key) for d in asked(PLAIN, rotation="450").board.decisions)


@pytest.mark.parametrize(("x", "is_told"), [("140", True), ("10", False)])
def test_a_fiducial_beside_the_board_is_told(asked, x, is_told):
    marks = [f"FID1,{x},10,0,top,,", "FID2,110,80,0,top,,"]
    report = asked(PLAIN, placed=marks)
    assert any(f.rule == "fiducial-on-board" and f.subject.ref == "FID1" for f in report.findings) == is_told


@pytest.mark.parametrize("mark", ["～", "〜", "~", "–"])
def test_ranges_by_the_marks_of_east_asian_lists(asked, mark):
    placed = [f"C{n},{40 + 8 * n},50,0,top,1u,CAPC1608X90N" for n in range(1, 4)]
    report = asked([*PLAIN, f"C1{mark}C3,QX-4W,3,,,"], placed=placed)
    assert not [f for f in report.findings if f.rule in {"in-bom", "in-placements", "quantity-matches"}]


@pytest.mark.parametrize(
    ("footprint", "package"),
    [
        ("SOIC127P600X175-14N", "SO-16"),
        ("SOIC127P600X175-8N", "SO-16"),
        ("SOIC127P600X175-8N", "SOIC-8 wide"),
        ("RES-0402-1608M", ""),
        ("RES", "0603 / 1005 metric"),
    ],
)
def test_packages_that_exclude_each_other_are_a_finding(asked, footprint, package):
    report = asked(
        ["Ref,Part number,Qty,Package", "L1,QX-1W,1,", "R1,QX-2W,1,", f"R7,QX-5W,1,{package}"],
        placed=[f"R7,60,40,0,top,v,{footprint}"],
    )
    rules = {"part-fits-its-land", "sources-agree", "size-code-settled", "size-settled"}
    assert not_passed(report, "R7") & rules


@pytest.mark.parametrize(("line", "is_told"), [("Number of components: 25", True), ("Number of components: 2", False)])
def test_a_count_below_the_placements_that_is_another_is_asked_about(asked, line, is_told):
    report = asked(PLAIN, placed=[line])
    assert any(f.rule == "no-row-left-out" for f in report.findings) == is_told


def test_files_of_two_units_under_one_header_leave_the_unit_open(make_line, tmp_path):
    top = [f"R{n},{10 + 9 * n},{12 + 3 * n},0,top,1k,RESC1608X55N" for n in range(1, 10)]
    # 20 and 15 mm in inches of 25.4 mm, by definition.
    low = [f"C{n},{n * 0.7874:.4f},{n * 0.5906:.4f},0,bottom,1u,CAPC1608X90N" for n in range(1, 5)]
    (tmp_path / "top.csv").write_text("\n".join(["Ref,X,Y,Rotation,Side,Value,Footprint", *top]) + "\n")
    (tmp_path / "bottom.csv").write_text("\n".join(["Ref,X,Y,Rotation,Side,Value,Footprint", *low]) + "\n")
    drawing = ezdxf.new(units=4)
    drawing.modelspace().add_lwpolyline([(0, 0), (120, 0), (120, 90), (0, 90)], close=True)
    drawing.saveas(tmp_path / "o.dxf")
    (tmp_path / "board.toml").write_text('placements = ["top.csv", "bottom.csv"]\noutline = "o.dxf"\n')
    report = check(tmp_path, line=make_line(MACHINE))
    assert report.verdict == "warn"
    assert not report.board.unit_settled


TITLES = "Item,Ref,Part number,Description,Qty,Height [mm]"
LISTED = [TITLES, "1,L1,QX-1W,Coil,1,1.8", "2,R1,QX-2W,Resistor,1,"]


def test_the_plain_list_leaves_no_row_out(asked):
    assert not [f for f in asked(LISTED).findings if f.rule in {"no-row-left-out", "every-row-counts"}]


@pytest.mark.parametrize("row", ["2,,,,,30", "2,,,30 mm tall,,"])
def test_a_row_that_names_nothing_and_states_a_size_is_asked_about(asked, row):
    rules = {f.rule for f in asked([*LISTED, row]).findings}
    assert rules & {"no-row-left-out", "reference-on-every-line"}


def test_a_size_alone_behind_a_blank_row_is_no_title(asked):
    assert any(f.rule == "no-row-left-out" for f in asked([*LISTED[:2], ",,,,,", ",,,,,30", LISTED[2]]).findings)


def test_a_text_of_a_size_below_any_title_goes_on_with_the_row_above(asked):
    assert "part-height" in not_passed(asked([*LISTED[:2], ",,30 mm tall,,,", LISTED[2]]))


@pytest.mark.parametrize(
    "lines",
    [
        ["L1 is glued after the oven", "", *LISTED],
        [*LISTED, "", "L1: only from the second lot on"],
        [*LISTED, "Remark: the sink on L1 is 30 mm tall,,,,,"],
    ],
)
def test_a_remark_beside_the_list_that_speaks_of_a_part_is_asked_about(asked, lines):
    assert any(f.rule == "no-row-left-out" and "L1" in str(f.subject.ref) for f in asked(lines).findings)


@pytest.mark.parametrize(
    "remark", ["Format A4", "2021-03-04 L1 made taller", "Board of the pump", "R1", "Document QX1"]
)
def test_a_remark_that_speaks_of_no_part_is_not(asked, remark):
    assert not [f for f in asked([remark, "", *LISTED]).findings if f.rule == "no-row-left-out"]


def test_the_mark_of_a_footnote_is_asked_about(asked):
    report = asked([LISTED[0], LISTED[1].replace("L1", "L1*"), LISTED[2], "* of the tall kind,,,,,"])
    assert {"every-row-counts"} & not_passed(report)


def test_words_that_may_head_the_row_below_or_go_on_with_the_one_above_leave_both_open(asked):
    report = asked([*LISTED[:2], ",,,DNP,,", LISTED[2]])
    assert "part-height" in not_passed(report)
    assert "every-row-counts" in not_passed(report, "R1")


@pytest.mark.parametrize("number", ["QX-4W / QX-9H30", "QX-4W or QX-9H30", "QX-4W; QX-9H30", "QX-4W oder QX-9H30"])
def test_two_part_numbers_in_one_cell_are_asked_about(asked, number):
    report = asked([LISTED[0], LISTED[1].replace("QX-1W", number), LISTED[2]])
    assert "part-number-whole" in not_passed(report)


@pytest.mark.parametrize("number", ["QX-4W/NOPB", "QX-4W, 215", "QX 4W", "QX-4W rev. or so"])
def test_a_number_with_a_mark_in_it_is_one(asked, number):
    report = asked([LISTED[0], LISTED[1].replace("QX-1W", f'"{number}"'), LISTED[2]])
    assert "part-number-whole" not in not_passed(report)


def test_a_quantity_in_words_among_numbers_is_asked_about(asked):
    more = ["3,C1,QX-3W,Capacitor,1,", "4,C2,QX-4W,Capacitor,none,"]
    placed = ["C1,60,40,0,top,1u,CAPC1608X90N", "C2,70,40,0,top,1u,CAPC1608X90N"]
    report = asked([*LISTED, *more], placed=placed)
    assert "every-row-counts" in not_passed(report, "C2")
    assert "every-row-counts" not in not_passed(report, "C1")


@pytest.mark.parametrize(
    "text", ["Coil - not mount", "Coil inte monterad", "Coil ej mont.", "Coil takılmayacak", "Coil, fit by customer"]
)
def test_further_words_for_what_a_machine_does_not_place(asked, text):
    report = asked([LISTED[0], LISTED[1].replace("Coil", f'"{text}"'), LISTED[2]])
    assert {"fitted-by-both", "machine-or-hand"} & not_passed(report)


@pytest.mark.parametrize(
    ("sheet", "rows", "is_asked"),
    [
        ("not fitted", [["Ref"], ["L1"]], True),
        ("remarks", [["L1 is 30 mm tall with its sink"]], True),
        ("others", [["No", "What", "How"], ["1", "L1", "DNI"]], True),
        ("history", [["2021-03-04", "L1 made taller"]], False),
        ("remarks", [["leadless, 30 mm"]], False),
    ],
)
def test_a_further_sheet_that_speaks_of_a_part_is_asked_about(tmp_path, sheet, rows, is_asked):
    book = xlsxwriter.Workbook(tmp_path / "bom.xlsx")
    for name, lines in (("parts", [row.split(",") for row in LISTED]), (sheet, rows)):
        page = book.add_worksheet(name)
        for i, line in enumerate(lines):
            page.write_row(i, 0, line)
    book.close()
    (tmp_path / "p.csv").write_text("\n".join([*PLACED, "L1,20,20,0,top,10u,SOT-23", "R1,40,20,0,top,1k,SOT-23"]))
    report = check(placements=[tmp_path / "p.csv"], bom=tmp_path / "bom.xlsx")
    assert any(f.rule == "no-row-left-out" and "L1" in str(f.subject.ref) for f in report.findings) == is_asked


@pytest.mark.parametrize("height", [">1.8", "≥ 1.8", "1.8 min"])
def test_a_height_without_an_upper_end_is_asked_about(asked, height):
    assert "size-settled" in not_passed(asked([PLAIN[0], PLAIN[1].replace(",1.8", f",{height}"), PLAIN[2]]))


@pytest.mark.parametrize("said", ["add 8 mm spacer", "heatsink 20 mm on top", "auf Fassung", "12 mm now"])
@pytest.mark.parametrize("title", ["Remark", ""])
def test_a_remark_by_which_a_part_reaches_higher_leaves_its_height_open(asked, said, title):
    report = asked([f"{PLAIN[0]},{title}", f"{PLAIN[1]},{said}", f"{PLAIN[2]},"])
    assert "part-height" in not_passed(report)
    assert "part-height" not in not_passed(report, "R1")


def test_so_does_a_remark_beside_a_placement(asked, tmp_path):
    asked(PLAIN)
    folder = tmp_path / "board"
    lines = (folder / "placements.csv").read_text().splitlines()
    told = [f"{lines[0]},Note", f"{lines[1]},with 9 mm standoff", f"{lines[2]},"]
    (folder / "placements.csv").write_text("\n".join(told) + "\n")
    assert "part-height" in not_passed(check(folder, line=tmp_path / "l.line.toml"))


@pytest.mark.parametrize(
    "title",
    [
        "Height min [mm]",
        "Min. height [mm]",
        "Mindesthöhe [mm]",
        "Altura mín. [mm]",
        "Old height [mm]",
        "Height tol. [mm]",
        "Height delta [mm]",
        "Lead height [mm]",
        "Height without heatsink [mm]",
        "Höhe ohne Anschluss [mm]",
        "Height (mm/10)",
        "Height in tenths of mm",
        "Height ×10 mm",
        "Height / 0.1 mm",
        "Height mm*100",
        "Höhe in Zehntel mm",
    ],
)
def test_a_height_that_is_no_greatest_one_of_the_part_proves_nothing(asked, title):
    rows = [f"Ref,Part number,Qty,Length [mm],Width [mm],{title}", "L1,QX-1W,1,4,4,1.8", "R1,QX-2W,1,,,"]
    assert "part-height" in not_passed(asked(rows))


def test_the_least_height_beside_the_greatest_leaves_it(asked):
    rows = [f"{PLAIN[0]},Height min [mm]", f"{PLAIN[1]},1.6", f"{PLAIN[2]},"]
    assert "part-height" not in not_passed(asked(rows))


@pytest.mark.parametrize(
    "title", ["Body height [mm]", "Height max [mm]", "Total height [mm]", "Höhe inkl. Toleranz [mm]"]
)
def test_titles_of_the_whole_height_count(asked, title):
    rows = [f"Ref,Part number,Qty,Length [mm],Width [mm],{title}", "L1,QX-1W,1,4,4,1.8", "R1,QX-2W,1,,,"]
    assert "part-height" not in not_passed(asked(rows))


def test_a_list_that_names_a_part_in_other_capitals_again_has_two_lines_for_it(asked):
    report = asked([*PLAIN, "l1,QX-9W,1,8,8,14"])
    assert any(f.rule == "on-one-bom-line" for f in report.findings)
    assert "part-height" in not_passed(report)


def test_a_list_in_other_capitals_alone_is_as_good(asked):
    rows = [PLAIN[0], PLAIN[1].replace("L1", "l1"), PLAIN[2]]
    assert not [f for f in asked(rows).findings if f.rule in {"in-bom", "on-one-bom-line", "in-placements"}]
    assert "part-height" not in not_passed(asked(rows))


@pytest.mark.parametrize("line", ["Heights in inch", "Höhen in cm", "heights in tenths of mm", "hauteurs en cm"])
def test_a_line_that_counts_the_heights_in_something_else_is_asked_about(asked, line):
    assert any(f.rule == "no-row-left-out" for f in asked([line, *PLAIN]).findings)


@pytest.mark.parametrize("line", ["Heights in mm", "Height: 12 parts"])
def test_a_line_that_counts_them_in_millimetres_is_not(asked, line):
    assert not any(f.rule == "no-row-left-out" for f in asked([line, *PLAIN]).findings)


@pytest.mark.parametrize(
    ("title", "cell"),
    [
        ("Side", "bottom"),
        ("Seite", "unten"),
        ("Lado", "inferior"),
        ("层", "底层"),
        ("Remark", "place on bottom"),
        ("Bemerkung", "Unterseite"),
        ("Nota", "lato inferiore"),
    ],
)
def test_a_list_that_has_a_part_on_the_other_side_is_asked_about(asked, title, cell):
    rows = [f"Ref,Part number,Qty,Description,{title}", f"L1,QX-1W,1,Coil,{cell}", "R1,QX-2W,1,Resistor,"]
    found = [f for f in asked(rows).findings if f.rule == "values-agree"]
    assert [str(f.subject.ref) for f in found] == ["L1"]


@pytest.mark.parametrize("cell", ["top", "bottom entry", "view from bottom", "marking at the bottom", ""])
def test_a_remark_on_the_side_that_agrees_or_is_the_parts_own_is_not(asked, cell):
    rows = ["Ref,Part number,Qty,Description,Remark", f"L1,QX-1W,1,Coil,{cell}", "R1,QX-2W,1,Resistor,"]
    assert not [f for f in asked(rows).findings if f.rule == "values-agree"]


@pytest.mark.rows("title", ["Info", "Hinweis", "Details", "détails", "メモ"])
@pytest.mark.rows("cell", ["size 2512", "not fitted", "?", "N.C."])
def test_a_column_of_hints_is_one_of_remarks(asked, title, cell):
    rows = [f"Ref,Part number,Qty,Description,Value,{title}", "L1,QX-1W,1,Coil,10u,", f"R1,QX-2W,1,Resistor,1k,{cell}"]
    plain = not_passed(asked([*rows[:2], "R1,QX-2W,1,Resistor,1k,"]), "R1")
    report = asked(rows)
    off = not report.board.placements.fitted[list(report.board.placements.ref).index("R1")]
    assert off or not_passed(report, "R1") - plain


@pytest.mark.parametrize(("line", "is_told"), [("Total: 30", True), ("Summe: 30", True), ("Total: 2", False)])
def test_a_total_below_the_placements_counts_them(asked, line, is_told):
    report = asked(PLAIN, placed=[line])
    assert any(f.rule == "no-row-left-out" for f in report.findings) == is_told


@pytest.mark.parametrize("said", ["Amplifier QFN", "QFN"])
def test_leads_that_a_description_places_elsewhere_are_a_finding(asked, said):
    rows = [*PLAIN, "U1,QX-3W,1,,,"]
    placed = ["U1,60,40,0,top,v,SOIC127P600X175-8N"]
    named = [f"{rows[0]},Description", *(f"{row},{said if row.startswith('U1') else ''}" for row in rows[1:])]
    assert not_passed(asked(named, placed=placed), "U1") & {"part-fits-its-land", "sources-agree"}


@pytest.mark.parametrize("said", ["Raster 0,3 mm", "pas 0,3 mm", "paso 0.3 mm", "passo 0,3 mm"])
def test_a_pitch_in_other_languages_counts(asked, said):
    rows = [*PLAIN, "U1,QX-3W,1,,,"]
    named = [f"{rows[0]},Description", *(f'{row},"{said if row.startswith("U1") else ""}"' for row in rows[1:])]
    report = asked(named, placed=["U1,60,40,0,top,v,SOIC127P600X175-8N"])
    assert not_passed(report, "U1") & {"part-fits-its-land", "sources-agree"}


@pytest.mark.parametrize(
    ("said", "is_heavy"),
    [("Coil, 60 gr", True), ("Coil, 60 g/pc", True), ("Coil, wt. 60g", True), ("Coil QX8012GR", False)],
)
def test_a_mass_in_words_of_its_own_counts_and_the_end_of_a_number_does_not(asked, said, is_heavy):
    rows = [f"{PLAIN[0]},Description", f'{PLAIN[1]},"{said}"', f"{PLAIN[2]},"]
    body = asked(rows).board
    weighs = body.bodies[body.placements.part_type[list(body.placements.ref).index("L1")]].mass
    assert (weighs.low >= 50) == is_heavy


def test_a_comment_in_the_place_of_a_value_is_what_a_part_is_called(asked):
    rows = [f"{PLAIN[0]},Description,Comment", f'{PLAIN[1]},Display,"1.8 in LCD"', f"{PLAIN[2]},,1k"]
    assert "part-height" not in not_passed(asked(rows))
