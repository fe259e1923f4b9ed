"""Two sheets or files that list the same parts: which one counts, and what they say differently stays a question.

Figures: invented, or the digits of the text.
"""

import pytest

from capcheck.intake.read import read_package
from capcheck.lexicon import sentence

PLACED = "Ref,Value,Footprint,X (mm),Y (mm),Rotation,Side\n" + "".join(
    f"{ref},{value},{foot},{4 * k},{k % 3},0,top\n"
    for k, (ref, value, foot) in enumerate(
        [("R1", "10k", "0603"), ("R2", "10k", "0603"), ("C1", "1u", "0603"), ("C2", "1u", "0603"), ("U1", "AB12", "Q1")]
    )
)
HEADER = "Designator,Quantity,Part number,Value,Description,Height mm"
ROWS = [HEADER, "R1,1,PN-1,10k,resistor,0.5", "R2,1,PN-1,10k,resistor,0.5", "C1 C2,2,PN-2,1u,capacitor,0.9"]
U1 = "U1,1,PN-3,AB12,controller,1.6"
HIGHER, OTHER, OFF, GONE = U1.replace("1.6", "12"), U1.replace("PN-3", "PN-4"), U1.replace(",1,", ",0,", 1), None
NAMES = [
    ("Rev A", "Rev B"),
    ("V1", "V2"),
    ("Rev. 01", "Rev. 02"),
    ("Revision A", "Revision B"),
    ("BOM_old", "BOM"),
    ("BOM 2024-01-01", "BOM 2024-03-01"),
    ("Liste alt", "Liste neu"),
    ("nomenclature ancienne", "nomenclature"),
    ("lista antigua", "lista nueva"),
    ("旧版", "新版"),
]


def rows(line):
    return [row.split(",") for row in [*ROWS, *([line] if line else [])]]


def xml_row(cells):
    told = "".join(f'<Cell><Data ss:Type="String">{cell}</Data></Cell>' for cell in cells)
    return f"<Row>{told}</Row>"


@pytest.fixture
def sheets(tmp_path):
    def write(named, toml=""):
        (tmp_path / "p.csv").write_text(PLACED)
        (tmp_path / "board.toml").write_text(toml)
        tables = "".join(
            f'<Worksheet ss:Name="{name}"><Table>{"".join(map(xml_row, rows(line)))}</Table></Worksheet>'
            for name, line in named.items()
        )
        space = "urn:schemas-microsoft-com:office:spreadsheet"
        book = f'<?xml version="1.0"?><Workbook xmlns="{space}" xmlns:ss="{space}">{tables}</Workbook>'
        (tmp_path / "b.xml").write_text(book, encoding="utf-8")
        return read_package(tmp_path)

    return write


@pytest.fixture
def files(tmp_path):
    def write(named, toml=""):
        (tmp_path / "p.csv").write_text(PLACED)
        (tmp_path / "board.toml").write_text(toml)
        for name, line in named.items():
            (tmp_path / f"{name}.csv").write_text("\n".join(map(",".join, rows(line))) + "\n")
        return read_package(tmp_path)

    return write


def asked(package):
    return {ref for d in package.discrepancies if d.severity == "stop" for ref in d.refs}


def heights(package):
    (name,) = [t for t in package.types if t.ref_prefix == "U"]
    return {t.dimensions["height"][0].high for t in (name, *name.others)}


@pytest.mark.parametrize("given", ["sheets", "files"])
@pytest.mark.parametrize(("older", "later"), NAMES)
@pytest.mark.parametrize("swapped", [False, True])
def test_the_newest_counts_and_what_the_older_one_says_differently_is_asked(request, given, older, later, swapped):
    read = request.getfixturevalue(given)
    lines = {older: U1, later: HIGHER}
    package = read(dict(reversed(lines.items())) if swapped else lines)
    assert asked(package) == {"U1"}
    assert heights(package) == {1.6, 12}
    (told,) = [d for d in package.decisions if d.topic == "BOM" and d.runner_up]
    assert (sentence(told.evidence), told.open) == ("newest by its name", False)
    assert later in sentence(told.choice)
    first = next(line for line in package.bom if "U1" in line.refs)
    assert first.dimensions["height"][0].high == 12


@pytest.mark.parametrize("given", ["sheets", "files"])
@pytest.mark.parametrize("names", [("BOM", "Sheet2"), ("Rev A", "Rev B"), ("list A", "list B")])
@pytest.mark.parametrize("other", [HIGHER, OTHER, OFF, GONE])
@pytest.mark.parametrize("swapped", [False, True])
def test_whatever_two_lists_differ_in_is_asked_and_the_part_stays(request, given, names, other, swapped):
    lines = (other, U1) if swapped else (U1, other)
    package = request.getfixturevalue(given)(dict(zip(names, lines, strict=True)))
    assert asked(package) == {"U1"}
    assert package.placements.fitted.all()


@pytest.mark.parametrize("given", ["sheets", "files"])
@pytest.mark.parametrize("names", [("BOM", "Sheet2"), ("Rev A", "Rev B")])
def test_lists_that_agree_are_no_question(request, given, names):
    package = request.getfixturevalue(given)(dict.fromkeys(names, U1))
    assert asked(package) == set()
    assert len(package.bom) == 4
    assert not [d for d in package.decisions if d.topic == "BOM" and (d.runner_up or "None" in str(d.settle))]


def test_board_toml_settles_which_list_counts(sheets):
    lines = {"Rev A": U1, "Rev B": HIGHER}
    assert heights(sheets(lines, 'bom_sheet = "Rev A"\n')) == {1.6}
    assert asked(sheets(lines, 'bom_sheet = "Rev B"\n')) == set()


def test_board_toml_settles_which_file_counts(files):
    package = files({"Rev A": U1, "Rev B": HIGHER}, 'placements = "p.csv"\nbom = "Rev A.csv"\n')
    assert (heights(package), asked(package)) == ({1.6}, set())


@pytest.mark.parametrize("names", [("bom_top", "bom_bottom"), ("SMT", "THT"), ("Rev A", "Rev B")])
def test_lists_of_other_parts_are_added_up(tmp_path, names):
    (tmp_path / "p.csv").write_text(PLACED)
    (tmp_path / f"{names[0]}.csv").write_text("\n".join(ROWS[:3]) + "\n")
    (tmp_path / f"{names[1]}.csv").write_text("\n".join([HEADER, ROWS[3], U1]) + "\n")
    package = read_package(tmp_path)
    assert sorted(ref for line in package.bom for ref in line.refs) == ["C1", "C2", "R1", "R2", "U1"]
    assert asked(package) == set()


def test_two_long_lists_of_the_same_parts_are_compared_in_no_long_time(tmp_path, in_time):
    """For each line of one list a table of the other was made anew."""
    (tmp_path / "p.csv").write_text(PLACED)
    for name, number in (("a", "PN"), ("b", "QN")):
        lines = "".join(f"R{k},1,{number}-{k},10k,resistor,0.5\n" for k in range(1, 6_000))
        (tmp_path / f"{name}.csv").write_text(f"{HEADER}\n{lines}")
    with in_time(2):
        package = read_package(tmp_path)
    assert "R2" in asked(package)
