"""Cells of a workbook that hold nothing to read, and are not blank: results that are not stored, merged numbers.

Figures: invented, or the digits of the text.
"""

import xlsxwriter

from capcheck import read_board


def board(tmp_path, change):
    (tmp_path / "placements.csv").write_text(
        "Ref,X (mm),Y (mm),Rot,Side,Package\n" + "".join(f"J{k},{10 * k},20,0,top,XQ9\n" for k in range(1, 5))
    )
    book = xlsxwriter.Workbook(tmp_path / "bom.xlsx")
    sheet = book.add_worksheet("BOM & more")
    sheet.write_row(0, 0, ["Reference", "Qty", "Part number", "Description", "Height (mm)"])
    for k in range(1, 5):
        sheet.write_row(k, 0, [f"J{k}", 1, f"PN-{k}", "connector 12.7x5.1x8.5 mm", 1.5 + k])
    sheet.blank = book.add_format({"bold": True})
    change(sheet)
    book.close()
    found = read_board(tmp_path)
    return [found.bodies[t] for t in found.placements.part_type.tolist()]


def test_a_formula_without_a_stored_result_leaves_its_size_open(tmp_path):
    def change(sheet):
        sheet.write_formula("E5", "=20*2", value="")

    *others, last = board(tmp_path, change)
    assert last.height.high == float("inf")
    assert any("=20*2" in str(q.values) for q in last.questions)
    assert others[0].height.high < 9


def test_a_height_merged_over_two_rows_leaves_the_second_open(tmp_path):
    def change(sheet):
        sheet.write_blank("E5", None, sheet.blank)
        sheet.merge_range("E4:E5", 4.5, sheet.blank)

    *_, third, last = board(tmp_path, change)
    assert third.height.value.high >= 4.5
    assert last.height.high == float("inf")
    assert any("merged with row 4" in str(q.values) for q in last.questions)
