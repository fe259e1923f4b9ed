"""What ordinary lists say in passing of one part among many, and that the board does not pass without a word on it.

Figures: boards, parts and sizes are invented; the machine takes parts of 10 mm and 5 g.
"""

import ezdxf
import openpyxl
import pytest

from capcheck import check

COUNT = 12
TALL = "12"
PLACED = ["Ref", "X [mm]", "Y [mm]", "Rotation", "Side", "Value", "Footprint"]
LISTED = [
    "Ref",
    "Part number",
    "Qty",
    "Value",
    "Description",
    "Length [mm]",
    "Width [mm]",
    "Height [mm]",
    "Mass [g]",
    "Mounting",
    "Fitted",
]
MACHINE = """name = "M"
[board]
min_length = "20 mm"
max_length = "120 mm"
min_width = "20 mm"
max_width = "100 mm"
min_thickness = "0.5 mm"
max_thickness = "2 mm"
max_mass = "1 kg"
edge_clearance_top = "3 mm"
edge_clearance_bottom = "3 mm"
underside_clearance = "15 mm"
top_clearance = "15 mm"
lanes = 1
max_warp = "3 mm"
[fiducials]
kinds = ["circle"]
min_diameter = "0.5 mm"
max_diameter = "3 mm"
search_window = "2 mm"
[feeders]
slots = 50
slots_used = { "8 mm" = 1, "12 mm" = 2, "16 mm" = 2, "24 mm" = 3, "32 mm" = 4, "44 mm" = 5}
stick_slots = 3
tray_places = 10
[[head]]
name = "H"
nozzles = 1
smallest_chip = "1005M"
max_body_length = "20 mm"
max_body_width = "15 mm"
max_part_height = "10 mm"
max_part_mass = "5 g"
min_lead_pitch = "0.4 mm"
min_ball_pitch = "0.5 mm"
min_ball_diameter = "0.2 mm"
recognises_balls = true
coplanarity_check = true
accuracy = "0.03 mm"
accuracy_sigma = 3
rotation_accuracy = "0.1 degree"
supplies = ["tape", "tray", "stick"]
"""
IGNORED = ["lead-pitch", "ball-pitch", "ball-diameter", "fiducial-half-turn", "fiducial-diameter"]
"""Rules on what no list of these states."""


def lists():
    """Return a list of placements and a BOM of parts whose names say nothing; row 3 is that of U3."""
    placed, listed = [list(PLACED)], [list(LISTED)]
    for k in range(1, COUNT + 1):
        x, y = 15 + 17 * ((k - 1) % 5), 15 + 22 * ((k - 1) // 5)
        placed.append([f"U{k}", f"{x}.25", f"{y}.5", "0", "top", f"V{k}", f"XQ{k}"])
        listed.append([f"U{k}", f"QX-{k}W", "1", f"V{k}", "module", "6", "5", "1.2", "0.05", "SMD", "yes"])
    placed += [[f"FID{k}", x, y, "0", "top", "FIDUCIAL", "FID 1.0mm"] for k, x, y in ((1, "5", "5"), (2, "95", "75"))]
    return placed, listed


def as_text(rows):
    return "".join(",".join(f'"{cell}"' for cell in row) + "\n" for row in rows)


@pytest.fixture
def answer(make_line, tmp_path):
    line, config = (
        make_line(MACHINE, extra='inspection = ["optical", "X-ray", "paste"]\nhand_placement = true\n'),
        tmp_path / "shop.toml",
    )
    config.write_text(f"ignore = {IGNORED}\n")

    def run(placed, listed=None, book=None, paper=None):
        folder = tmp_path / "board"
        folder.mkdir(exist_ok=True)
        (folder / "placements.csv").write_text(as_text(placed), encoding="utf-8")
        if book is None:
            (folder / "bom.csv").write_text(as_text(listed), encoding="utf-8")
        else:
            book.save(folder / "bom.xlsx")
        drawing = ezdxf.new("R2010", units=4)
        drawing.modelspace().add_lwpolyline([(0, 0), (100, 0), (100, 80), (0, 80)], close=True)
        if paper is not None:
            paper(drawing)
        drawing.saveas(folder / "outline.dxf")
        (folder / "board.toml").write_text('thickness = "1.6 mm"\n')
        return check(folder, line=line, config=config)

    return run


def changed(column, text, row=3):
    placed, listed = lists()
    listed[row][LISTED.index(column)] = text
    return placed, listed


def told(report):
    """Return what the report says that is no pass, in one text."""
    return "\n".join(f"{f.rule} {f.message} {f.subject}" for f in report.findings)


def is_silent_on(report, ref="U3"):
    return ref not in told(report)


def test_the_board_passes_as_it_stands(answer):
    report = answer(*lists())
    assert report.verdict == "pass", told(report)


@pytest.mark.parametrize("value", ["logo", "4holes", "graphic", "tooling", "Passermarke", "net tie"])
def test_a_part_that_no_line_lists_is_asked_about_whatever_feature_its_value_names(answer, value):
    placed, listed = lists()
    placed[3][5] = value
    del listed[3]
    assert not is_silent_on(answer(placed, listed))


@pytest.mark.parametrize("where", [(45, 36), (47, 37)])
def test_a_cut_out_in_paper_space_is_asked_about(answer, where):
    x, y = where

    def paper(drawing):
        box = [(x, y), (x + 4, y), (x + 4, y + 3), (x, y + 3)]
        drawing.layout().add_lwpolyline(box, close=True)

    assert answer(*lists(), paper=paper).verdict != "pass"


def test_a_frame_and_a_title_block_of_the_sheet_ask_nothing(answer):
    def paper(drawing):
        sheet = drawing.layout()
        sheet.add_viewport(center=(150, 120), size=(200, 100), view_center_point=(50, 40), view_height=100)
        sheet.add_lwpolyline([(10, 10), (287, 10), (287, 200), (10, 200)], close=True)
        sheet.add_lwpolyline([(190, 10), (287, 10), (287, 50), (190, 50)], close=True)
        sheet.add_text("Board", dxfattribs={"insert": (150, 120)})

    report = answer(*lists(), paper=paper)
    assert report.verdict == "pass", told(report)


def test_what_is_drawn_over_a_window_of_the_sheet_lies_on_what_it_shows(answer):
    def paper(drawing):
        sheet = drawing.layout()
        sheet.add_viewport(center=(150, 120), size=(200, 100), view_center_point=(50, 40), view_height=50)
        sheet.add_circle((150, 120), 8)

    assert answer(*lists(), paper=paper).verdict != "pass"


@pytest.mark.parametrize("quantity", ["x", "?", "1,000", "1.000"])
def test_a_quantity_that_is_no_count_is_asked_about(answer, quantity):
    assert not is_silent_on(answer(*changed("Qty", quantity)))


def test_quantities_with_three_decimals_throughout_are_counts(answer):
    placed, listed = lists()
    for row in listed[1:]:
        row[2] = "1,000"
    assert answer(placed, listed).verdict == "pass"


@pytest.mark.parametrize("name", ["XQ3_h12", "CON_12mm_tall", "XQ3-h12mm", "XQ3_12mm_high", "XQ3_tall_12mm"])
def test_a_height_that_a_footprint_states_counts_in_whatever_spelling(answer, name):
    placed, listed = lists()
    placed[3][6] = name
    assert "part-height" in told(report := answer(placed, listed))
    assert not is_silent_on(report)


@pytest.mark.parametrize("mass", ["0", "?", "0.00", "??"])
def test_a_mass_of_nought_among_others_proves_nothing(answer, mass):
    assert not is_silent_on(answer(*changed("Mass [g]", mass)))


@pytest.mark.parametrize("mass", ["0", "?"])
def test_a_column_of_masses_that_says_nothing_throughout_is_blank(answer, mass):
    placed, listed = lists()
    for row in listed[1:]:
        row[8] = mass
    assert answer(placed, listed).verdict == "pass"


@pytest.mark.parametrize("column", ["Value", "Description"])
@pytest.mark.parametrize("word", ["nein", "remove", "reserved", "non", "d n p", "customer supplied", "prototype only"])
def test_a_word_that_may_leave_a_part_off_is_asked_about(answer, column, word):
    assert not is_silent_on(answer(*changed(column, word)))


@pytest.mark.parametrize("cell", ["do not omit", "not DNP", "never omit", "nicht DNP"])
def test_a_denial_of_not_fitted_asks_nothing_and_takes_nothing_off(answer, cell):
    for column in ("Fitted", "Description"):
        assert answer(*changed(column, cell)).verdict == "pass"
    placed, listed = changed("Fitted", cell)
    listed[3][LISTED.index("Height [mm]")] = TALL
    assert "U3" in told(answer(placed, listed))


@pytest.mark.parametrize("above", [False, True])
def test_a_merged_remark_over_a_part_is_asked_about(answer, above):
    placed, listed = lists()
    book = openpyxl.Workbook()
    sheet = book.active
    for row in listed:
        sheet.append(row)
    if above:
        sheet.insert_rows(4)
    sheet.merge_cells("A4:K4")
    sheet["A4"] = "U3 not fitted"
    assert not is_silent_on(answer(placed, book=book))


@pytest.mark.parametrize("cell", ["perhaps", "maybe?", "see Tom"])
def test_a_doubtful_cell_of_what_is_fitted_is_asked_once(answer, cell):
    report = answer(*changed("Fitted", cell))
    said = [*report.board.discrepancies, *report.board.notes]
    asked = [one for one in said if cell in str(one.said)]
    assert len(asked) == 1, asked
