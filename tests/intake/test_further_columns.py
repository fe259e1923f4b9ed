"""A further column, or a text in another list, that states something else of a part than what counts leaves it open.

Figures: boards, parts and sizes are invented; 0805 and 7343-43 are the names of sizes themselves (data/size_codes.csv).
"""

import ezdxf
import pytest

from capcheck import check

MACHINE = """name = "M"
[board]
min_length = "50 mm"
max_length = "400 mm"
min_width = "50 mm"
max_width = "300 mm"
edge_clearance_top = "3 mm"
edge_clearance_bottom = "3 mm"
[[head]]
name = "H"
max_part_height = "2 mm"
max_body_length = "20 mm"
max_body_width = "20 mm"
"""
PLACED = "Ref,Value,Footprint,X [mm],Y [mm],Rotation,Side"
BOUGHT = "Ref,Part number,Qty,Length [mm],Width [mm],Height [mm],Mounting,Pins,Value"
PARTS = range(1, 9)


@pytest.fixture
def read(make_line, tmp_path):
    line = make_line(MACHINE)

    def board(placed=None, bought=None, *, footprint="XQ4", value="V", **texts):
        """Check a board with a further column in either list: its title, the cell of most rows and that of R4."""
        folder = tmp_path / "board"
        folder.mkdir(exist_ok=True)
        lists = {"places.csv": [PLACED], "parts.csv": [BOUGHT]}
        for n in PARTS:
            name = (value, footprint) if n == 4 else ("V", f"XQ{n}")
            lists["places.csv"].append(f"R{n},{name[0]},{name[1]},{10 * n},{8 * n},0,top")
            lists["parts.csv"].append(f"R{n},QX-{n}W,1,4,3,1.2,SMD,2,V")
        for file, further in (("places.csv", placed), ("parts.csv", bought)):
            if further is not None:
                title, most, other = further
                cells = [title, *(str(other if n == 4 else most(n) if callable(most) else most) for n in PARTS)]
                lists[file] = [f"{row},{cell}" for row, cell in zip(lists[file], cells, strict=True)]
        for file, rows in lists.items():
            (folder / file).write_text("\n".join(rows) + "\n", encoding="utf-8")
        for file, text in texts.items():
            (folder / file.replace("__", ".")).write_text(text, encoding="utf-8")
        (folder / "board.toml").write_text(
            'placements = "places.csv"\nbom = "parts.csv"\nthickness = "1.6 mm"\noutline = "o.dxf"\n'
            'origin = { x = "0 mm", y = "0 mm" }\n'
        )
        drawing = ezdxf.new(units=4)
        drawing.modelspace().add_lwpolyline([(0, 0), (100, 0), (100, 80), (0, 80)], close=True)
        drawing.saveas(folder / "o.dxf")
        return check(folder, line=line)

    return board


def open_of(report, ref="R4"):
    """Return the rules that do not pass for a part, and the questions that name it."""
    rules = {finding.rule for finding in report.findings if finding.subject.ref == ref}
    asked = {str(q.topic) for q in report.board.discrepancies if ref in q.refs}
    return rules | asked


@pytest.fixture
def as_it_is(read):
    return open_of(read())


AGAINST = [
    ("placed", "Package", "", "QFN-48 7x7"),
    ("bought", "Package", "", "QFN-48 7x7"),
    ("placed", "X2 [mm]", lambda n: 10 * n, 55),
    ("placed", "Mid X", lambda n: 10 * n, 55),
    ("placed", "X (inch)", lambda n: round(10 * n / 25.4, 4), 2),  # by definition
    ("placed", "Y old", lambda n: 8 * n, 55),
    ("placed", "Board side", "top", "bottom"),
    ("placed", "Qty", 1, 0),
    ("bought", "Value", "", "10k 0201"),
    ("bought", "Technology", "SMD", "THT"),
    ("bought", "Pins 2", 2, 20),
    ("bought", "Tol H", 0.1, 2),
    ("bought", "Tolerance on height", 0.1, 2),
    ("bought", "Height tolerance", "±0.1", "±2 mm"),
    ("bought", "Höhentoleranz", "0.1", "h13"),
    ("bought", "Heatsink", "no", "yes 10 mm"),
    ("bought", "Kühlkörper", "nein", "KK-30"),
]


@pytest.mark.parametrize(("where", "title", "most", "other"), AGAINST)
def test_what_a_further_column_states_otherwise_is_open(read, as_it_is, where, title, most, other):
    assert open_of(read(**{where: (title, most, other)})) - as_it_is


@pytest.mark.parametrize(
    ("where", "title", "most"),
    [
        ("placed", "Package", ""),
        ("placed", "X2 [mm]", lambda n: 10 * n),
        ("placed", "X (inch)", lambda n: round(10 * n / 25.4, 4)),  # by definition
        ("placed", "X out", 0),
        ("placed", "Board side", "top"),
        ("placed", "Qty", 1),
        ("placed", "Qty", 0),
        ("bought", "Technology", "SMD"),
        ("bought", "Pins 2", 2),
        ("bought", "Tol H", 0.1),
        ("bought", "Tol H", "10%"),
        ("bought", "Height tolerance", "±0.1"),
        ("bought", "Tolerance", "1%"),
        ("bought", "Heatsink", "no"),
        ("bought", "Heatsink", "-"),
        ("bought", "Standoff", 0.1),
    ],
)
def test_what_agrees_or_says_nothing_is_no_question(read, as_it_is, where, title, most):
    cell = most(4) if callable(most) else most
    assert open_of(read(**{where: (title, most, cell)})) <= as_it_is


def test_a_tolerance_counts_with_the_size(read):
    """1.2 mm and 0.9 mm more may be above 2 mm, though neither is."""
    assert "part-height" in open_of(read(bought=("Height tolerance", 0.1, 0.9)))
    assert "part-height" not in open_of(read(bought=("Height tolerance", 0.1, 0.7)))


@pytest.mark.parametrize("name", [{"value": "10k 0805"}, {"footprint": "7343-43"}, {"footprint": "lib:EIA-7343-43"}])
def test_a_size_in_the_placements_stands_against_the_stated_one(read, as_it_is, name):
    assert open_of(read(**name)) - as_it_is


@pytest.mark.parametrize("name", [{"value": "1206"}, {"value": "2200 ohm"}, {"footprint": "QX7343-43A"}])
def test_a_number_that_names_no_size_states_none(read, as_it_is, name):
    assert open_of(read(**name)) <= as_it_is


@pytest.mark.parametrize(
    "line",
    [
        "Superseded by revision C",
        "# PRELIMINARY - not for production",
        "Coordinates in inch",
        "Positions are given in mils",
        "Rotation zero follows IPC-7351 level B",
        "Sizes in this list are metric codes",
    ],
)
def test_a_line_of_a_text_beside_is_asked_about(read, line):
    report = read(readme__txt=f"Notes\n{line}\n")
    assert line.lstrip("# ") in report.to_json()
    assert len(report.board.discrepancies) > len(read(readme__txt="Notes\nThank you\n").board.discrepancies)


@pytest.mark.parametrize(
    "line", ["Coordinates in mm", "The draft was made in June", "It has superseded nothing", "Metric screws M3"]
)
def test_an_ordinary_line_of_a_text_beside_is_no_question(read, line):
    report = read(readme__txt=f"Notes\n{line}\n")
    assert len(report.board.discrepancies) == len(read(readme__txt="Notes\nThank you\n").board.discrepancies)
