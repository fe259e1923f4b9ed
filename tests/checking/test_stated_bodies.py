"""Whatever a customer's tables state of a body counts, in whichever column, row or file it stands.

Figures: files and bodies are invented; sizes of codes and outlines are in capcheck/packages/data/*.csv, with
their sources.
"""

import json

import pytest

from capcheck.checking.read import read_board
from capcheck.lexicon import sentence

# Part numbers follow their makers' published schemes (sources: packages/data/part_numbers); devices are invented.

HEAD = "Ref,X [mm],Y [mm],Rotation,Side,Value,Footprint,Part Number"
# IPC-7351B: chips of 1.6 x 0.8 mm, 0.9 and 0.5 mm high; leads at 1.27 mm over 6.0 mm, 1.2 mm high.
ROWS = [
    "C1,20,20,0,top,100n,CAPC1608X90N,W-1",
    "R1,40,20,0,top,10k,RESC1608X50N,W-2",
    "U1,60,40,90,top,chip,SOIC127P600X120-8N,W-3",
    "U2,80,40,90,top,chip,SOIC127P600X120-8N,W-3",
]
BOM_HEAD = "Designator,Quantity,Part Number,Value"
BOM = ["C1,1,W-1,100n", "R1,1,W-2,10k", '"U1,U2",2,W-3,chip']
UNKNOWN = [None, None]


@pytest.fixture
def bodies(tmp_path, run):
    """Return a function that reads a board of such files, and gives the stated bodies by reference."""

    def call(rows=ROWS, bom=BOM, head=HEAD, bom_head=BOM_HEAD, **files):
        (tmp_path / "placements.csv").write_text("\n".join([head, *rows]) + "\n", encoding="utf-8")
        if bom:
            (tmp_path / "bom.csv").write_text("\n".join([bom_head, *bom]) + "\n", encoding="utf-8")
        for name, text in files.items():
            (tmp_path / f"{name}.csv").write_text(text, encoding="utf-8")
        code, out, errors = run("read", tmp_path, "--format", "json")
        assert code == 0, errors
        parts = {part["ref"]: part for part in json.loads(out)["parts"]}

        def asked(ref=None):
            board = read_board(tmp_path)
            if ref is None:
                return [sentence(told.said) for told in board.discrepancies]
            kind = board.placements.part_type[list(board.placements.ref).index(ref)]
            body = board.bodies[kind]
            return [sentence(said) for said in (*body.questions, *body.conflicts)]

        return parts, asked

    return call


def heights(parts, *refs):
    return [parts[ref]["body_mm"].get("height", UNKNOWN) for ref in refs]


def with_column(title, cell):
    """Return the header and rows of a BOM with one more column, filled for U1 and U2 alone."""
    return {"bom_head": f'{BOM_HEAD},"{title}"', "bom": [f"{BOM[0]},", f"{BOM[1]},", f'{BOM[2]},"{cell}"']}


@pytest.mark.parametrize(
    ("title", "cell"),
    [
        ("LxWxH (mm)", "5x4x12"),
        ("L x W x H (mm)", "5 x 4 x 12"),
        ("l*w*h", "5*4*12"),
        ("HxWxL (mm)", "12x4x5"),
        ("Dimensions", "5.0 x 4.0 x 12.0 mm"),
        ("Dimensions (mm)", "5x4x12"),
        ("Size", "5x4x12"),
        ("Body size (mm)", "5 × 4 × 12"),
        ("Body (mm)", "L=5 W=4 H=12"),
        ("Package size", "5.0x4.0x12.0"),
        ("Abmessungen", "5 × 4 × 12,0 mm"),
        ("Maße (LxBxH)", "5 x 4 x 12 mm"),
        ("Maße", "5 x 4 x 12 mm"),
        ("Bauteilgröße [mm]", "5x4x12"),
        ("Länge x Breite x Höhe (mm)", "5x4x12"),
        ("BxHxT (mm)", "5x12x4"),
        ("Encombrement", "5 x 4 x 12 mm"),
        ("Dimensions L x l x H", "5 x 4 x 12 mm"),
        ("Dimensiones (mm)", "5x4x12"),
        ("Tamaño", "5x4x12mm"),
        ("Ingombro (mm)", "5x4x12"),
        ("尺寸", "5*4*12mm"),
        ("长×宽×高(mm)", "5*4*12"),
        ("サイズ", "5×4×12mm"),
        ("外形寸法 (mm)", "5×4×12"),
        ("Thickness (mm)", "12"),
        ("Bauteildicke (mm)", "12"),
        ("Épaisseur (mm)", "12"),
        ("H (mm)", "12"),
        ("Size Z (mm)", "12"),
        ("Zubehör", "5x4x12 mm"),
    ],
)
def test_a_column_that_states_a_size_counts_beside_the_footprint(bodies, title, cell):
    parts, _ = bodies(**with_column(title, cell))
    assert heights(parts, "U1", "U2") == [[0.84, 12.0]] * 2
    assert heights(parts, "C1") == [[0.63, 0.9]]


@pytest.mark.parametrize("title", ["LxWxH (mm)", "Dimensions", "Maße (LxBxH)", "Body size (mm)"])
def test_a_size_stands_in_placement_data_too(bodies, title):
    rows = [*(f"{row}," for row in ROWS[:2]), *(f"{row},5x4x12" for row in ROWS[2:])]
    parts, _ = bodies(rows=rows, head=f"{HEAD},{title}")
    assert heights(parts, "U1", "U2") == [[0.84, 12.0]] * 2


@pytest.mark.parametrize(
    ("title", "cell"),
    [
        ("Size", "5x4xTBD"),
        ("Size", "10x10x1,200"),
        ("Dimensions", "see drawing 12 mm"),
        ("Size (mm)", "12.5"),
        ("Dimensions (mm)", "5/4/12"),
        ("Dimensions", "5x4x3x12"),
        ("Profil (mm)", "12"),
        ("Sitz", "12 mm"),
    ],
)
def test_a_size_that_nobody_can_read_leaves_the_body_open_and_asks(bodies, title, cell):
    parts, asked = bodies(**with_column(title, cell))
    for ref in ("U1", "U2"):
        assert "height" not in parts[ref]["body_mm"] or None in parts[ref]["body_mm"]["height"]
        assert any(cell in question for question in asked(ref))
    assert heights(parts, "C1") == [[0.63, 0.9]]


# reference/size_codes.csv: 0603 is 1.6 x 0.8 mm; JEDEC MS-012 AA.
@pytest.mark.parametrize("title", ["Size", "Case size", "Package size", "Baugröße", "Size (mm)"])
def test_a_code_below_a_title_of_sizes_is_the_package(bodies, title):
    rows = [row.replace("CAPC1608X90N", "") for row in ROWS]
    parts, _ = bodies(
        rows=rows,
        bom_head=f"{BOM_HEAD},{title}",
        bom=[f"{line},{code}" for line, code in zip(BOM, ["0603", "0603", "SOIC-8"], strict=True)],
    )
    assert parts["C1"]["body_mm"]["length"][1] < 2


def test_a_mass_stays_a_mass(bodies):
    parts, _ = bodies(**with_column("Masse (g)", "0.2"))
    assert heights(parts, "U1") == [[0.84, 1.2]]


@pytest.mark.parametrize("cell", ["", "-", "n/a"])
def test_a_size_that_is_not_stated_asks_nothing(bodies, cell):
    parts, _ = bodies(**with_column("Dimensions (mm)", cell))
    assert heights(parts, "U1") == [[0.84, 1.2]]


# Invented rows.
@pytest.mark.parametrize("row", [",,74HC999D,", "74HC999D,,,", ",,1234-567-89,", ",,,QFN-32", ",,GRM-188R71C104KA01D,"])
def test_a_row_with_a_part_number_alone_is_no_title(bodies, row):
    _, asked = bodies(bom=[*BOM, row], bom_head=f"{BOM_HEAD}")
    assert any(row.strip(",") in said for said in asked())


@pytest.mark.parametrize("row", ["Resistors,,,", "Rev 2,,,", "2024-05-01,,,", "V1.0.2,,,", "board-r2.csv,,,"])
def test_a_title_alone_is_asked_nothing(bodies, row):
    _, asked = bodies(bom=[*BOM, row])
    assert not any(row.strip(",") in said for said in asked())


@pytest.mark.parametrize(
    ("first", "second"),
    [
        ("Ref Top", "Ref Bottom"),
        ("Designators 1", "Designators 2"),
        ("Designator", "Designator"),
        ("Designator", ""),
        ("RefDes (Top)", "RefDes (Bot)"),
        ("Top", "Bottom"),
        ("Bestückung oben", "Bestückung unten"),
        ("Bauteile oben", "Bauteile unten"),
        ("Repère dessus", "Repère dessous"),
        ("位号1", "位号2"),
    ],
)
def test_references_are_read_in_all_their_columns(tmp_path, bodies, first, second):
    bodies(
        bom=['"C1",,1,W-1,100n', '"R1",,1,W-2,10k', '"U1","U2",2,W-3,chip'],
        bom_head=f"{first},{second},Qty,Part Number,Value",
    )
    assert [line.refs for line in read_board(tmp_path).bom] == [("C1",), ("R1",), ("U1", "U2")]


def test_a_suppliers_code_is_no_second_column_of_references(tmp_path, bodies):
    bodies(bom=["C1,C9001,1,W-1", "R1,C90002,1,W-2"], bom_head="Designator,Supplier Part,Qty,Part Number")
    assert [line.refs for line in read_board(tmp_path).bom] == [("C1",), ("R1",)]


@pytest.mark.parametrize("title", ["Description", "Remarks", "Bemerkung", "Zusatz"])
@pytest.mark.parametrize(
    "text",
    [
        "H=12mm",
        "height 12 mm",
        "max. 12mm hoch",
        "12 mm high",
        "Höhe: max 12 mm",
        "hauteur 12 mm",
        "高さ12mm",
        "5x4x12 mm",
    ],
)
def test_a_height_in_a_text_counts_beside_the_footprint(bodies, title, text):
    parts, _ = bodies(**with_column(title, text))
    for low, high in heights(parts, "U1", "U2"):
        assert low <= 1.2
        assert high >= 12
    assert heights(parts, "C1") == [[0.63, 0.9]]


def test_one_part_number_has_one_body_whatever_its_rows_state(bodies):
    rows = ["C1,1,W-1,100n,", "R1,1,W-2,10k,", "U1,1,W-3,chip,1.2", "U2,1,W-3,chip,12"]
    parts, _ = bodies(bom=rows, bom_head=f"{BOM_HEAD},Height (mm)")
    assert [high for _, high in heights(parts, "U1", "U2")] == [12.0, 12.0]


def test_a_row_that_states_nothing_has_the_size_of_its_part_number(bodies):
    rows = ["C1,1,W-1,100n,", "R1,1,W-2,10k,", "U1,1,W-3,chip,", "U2,1,W-3,chip,12"]
    parts, _ = bodies(bom=rows, bom_head=f"{BOM_HEAD},Height (mm)")
    assert heights(parts, "U1", "U2") == [[0.84, 12.0]] * 2


@pytest.mark.parametrize(
    "text",
    [
        "Part Number,Height (mm)\nW-3,12\nW-9,3\n",
        "MPN,Maße (LxBxH)\nW-3,5x4x12 mm\nW-9,3x2x1 mm\n",
        "Bestellnummer;Bauhöhe [mm];Bemerkung\nw-3;12;\nW-9;3;x\n",
    ],
)
def test_a_list_of_sizes_by_part_number_counts_beside_the_footprint(bodies, text):
    parts, _ = bodies(heights=text)
    assert heights(parts, "U1", "U2") == [[0.84, 12.0]] * 2
    assert heights(parts, "C1") == [[0.63, 0.9]]
