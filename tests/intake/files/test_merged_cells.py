"""A cell that says not fitted and is merged over several rows is asked about in each row below its first.

Figures: invented, or the digits of the text.
"""

import zipfile

import openpyxl

from capcheck import read_board
from capcheck.model import Topic

PLACED = "Ref,X (mm),Y (mm),Rot,Side,Package\n" + "".join(f"R{k},{10 * k},20,0,top,0603\n" for k in range(1, 7))
ROWS = [["Refs", "Qty", "Value", "Part number", "Fit"], *([f"R{k}", "1", "10k", f"PN-{k}", "yes"] for k in range(1, 7))]
SPACE = "urn:oasis:names:tc:opendocument:xmlns"


def as_xlsx(file, text):
    book = openpyxl.Workbook()
    for row in ROWS:
        book.active.append(row)
    book.active["E3"] = text
    book.active.merge_cells("E3:E5")
    book.save(file)


def as_ods(file, text):
    def cell(i, k, value):
        if k == 4 and i in {3, 4}:
            return "<table:covered-table-cell/>"
        spanned, value = (' table:number-rows-spanned="3"', text) if (i, k) == (2, 4) else ("", value)
        return f'<table:table-cell{spanned} office:value-type="string"><text:p>{value}</text:p></table:table-cell>'

    rows = "".join(
        f"<table:table-row>{''.join(cell(i, k, v) for k, v in enumerate(row))}</table:table-row>"
        for i, row in enumerate(ROWS)
    )
    content = (
        f'<office:document-content xmlns:office="{SPACE}:office:1.0" xmlns:table="{SPACE}:table:1.0" '
        f'xmlns:text="{SPACE}:text:1.0"><office:body><office:spreadsheet><table:table table:name="S">{rows}'
        "</table:table></office:spreadsheet></office:body></office:document-content>"
    )
    kind = "application/vnd.oasis.opendocument.spreadsheet"
    entry = f'<manifest:file-entry manifest:full-path="/" manifest:media-type="{kind}"/>'
    with zipfile.ZipFile(file, "w") as packed:
        packed.writestr("mimetype", kind)
        packed.writestr("content.xml", content)
        packed.writestr(
            "META-INF/manifest.xml",
            f'<manifest:manifest xmlns:manifest="{SPACE}:manifest:1.0">{entry}</manifest:manifest>',
        )


def test_a_text_that_says_not_fitted_is_asked_about_below_its_first_row(tmp_path):
    for name, write in (("xlsx", as_xlsx), ("ods", as_ods)):
        for text, refs in (("DNP", {"R3", "R4"}), ("vacant", {"R3", "R4"}), ("yes", set())):
            folder = tmp_path / f"{name} {text}"
            folder.mkdir()
            (folder / "placements.csv").write_text(PLACED)
            write(folder / f"bom.{name}", text)
            board = read_board(folder)
            rows = [d for d in board.discrepancies if d.topic is Topic.ROW_IN_QUESTION]
            asked = {r for d in rows if d.said.values["why"].key == "files.merged from above" for r in d.refs}
            assert asked == refs, (name, text)
