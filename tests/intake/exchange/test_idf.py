"""What a board and its library in the Intermediate Data Format state of heights stands beside the other sources.

Figures: boards, places and heights are invented; 1 THOU is 0.0254 mm.
"""

import pytest

from capcheck.intake.exchange.idf import Idf, heights_of_parts, read_here
from capcheck.lexicon import sentence
from capcheck.model import Basis, Topic
from capcheck.values import InputError, Interval

SPOTS = {f"R{i}": (9 * i, 5 * i) for i in range(1, 7)}


def header(kind, unit="MM", version="3.0"):
    name = f'"invented" {unit}\n' if kind == "BOARD" else ""
    return f'.HEADER\n{kind}_FILE {version} "somebody" 2020/01/02.03:04:05 1\n{name}.END_HEADER\n'


def part(ref, package, x, y, side="TOP", number="PN"):
    return f'"{package}" "{number}" {ref}\n{x} {y} 0.0 90.0 {side} PLACED\n'


def board_file(further="", unit="MM", version="3.0", per_mm=1.0):
    pairs = "".join(part(ref, "R 0603", x * per_mm, y * per_mm) for ref, (x, y) in SPOTS.items())
    return header("BOARD", unit, version) + f"# invented\n.PLACEMENT\n{pairs}{further}.END_PLACEMENT\n"


def package(name, height, unit="MM", number="PN"):
    return f'.ELECTRICAL\n"{name}" "{number}" {unit} {height}\n0 0.0 0.0 0.0\n0 1.0 0.0 0.0\n.END_ELECTRICAL\n'


def library(*packages):
    return header("LIBRARY") + "".join(packages)


@pytest.fixture
def heights(tmp_path):
    def read(*texts):
        both = Idf()
        for text in texts:
            (tmp_path / "file.txt").write_text(text)
            idf = read_here(str(tmp_path / "file.txt"), b"")
            both = Idf(both.placed + idf.placed, both.heights + idf.heights, both.unread + idf.unread)
        return {ref: p.height_mm for ref, p in heights_of_parts(both.placed, both.heights).items()}

    return read


def body(board, ref):
    return board.bodies[board.placements.part_type[board.placements.ref.index(ref)]]


def notes(board):
    return [n.said.key for n in board.notes if not isinstance(n.said, str) and n.said.key.startswith("fabrication")]


def test_a_height_is_a_source_with_its_library_and_line(board):
    text = library(package("R 0603", 0.5), package("PLUG", 7.25))
    read = board("J1,,PLUG,60,10,0,top\n", a__emn=board_file(part("J1", "PLUG", 60, 10)), b__emp=text)
    line = text[: text.index('"PLUG"')].count("\n") + 1
    height = body(read, "J1").height
    assert (height.value, height.basis, height.source) == (Interval.exactly(7.25), Basis.STATED, f"b.emp:{line} J1")
    assert notes(read) == ["fabrication.heights used"]


@pytest.mark.parametrize(("unit", "height"), [("MM", 2.54), ("THOU", 100)])
def test_each_package_has_its_own_unit(heights, unit, height):
    assert heights(board_file(), library(package("R 0603", height, unit)))["R1"] == 2.54


def test_a_board_may_be_in_thousandths_of_an_inch(board):
    # A mil is 0.0254 mm by definition.
    read = board(a__emn=board_file(unit="THOU", per_mm=1 / 0.0254), b__emp=library(package("R 0603", 0.5)))
    assert notes(read) == ["fabrication.heights used"]


def test_a_board_in_another_unit_than_it_states_is_another_board(board):
    read = board(a__emn=board_file(unit="THOU"), b__emp=library(package("R 0603", 0.5)))
    assert notes(read) == ["fabrication.another board"]


def test_a_height_that_an_export_fills_in_is_none(heights):
    """An export writes one height for all packages of which it knows none."""
    parts = "".join(part(f"U{i}", f"P{i}", 70 + i, 10) for i in range(6))
    packages = [package(f"P{i}", 3.81 if i < 4 else 1.1 + i) for i in range(6)]
    found = heights(board_file(parts), library(*packages))
    assert [found[f"U{i}"] for i in range(6)] == [None] * 4 + [5.1, 6.1]


def test_a_package_whose_outline_no_body_has_is_in_another_unit(tmp_path):
    """An outline of 6 thousandths of an inch: so its height is not in these either."""
    text = '.ELECTRICAL\n"P" "PN" THOU 2.0\n0 0 0 0\n0 6 0 0\n0 6 6 0\n0 0 6 0\n0 0 0 0\n.END_ELECTRICAL\n'
    (tmp_path / "library.emp").write_text(library(text))
    read = read_here(str(tmp_path / "library.emp"), b"")
    assert (read.heights, read.unread) == ([], 1)


@pytest.mark.parametrize("height", ["0", "-1", "nan", "1e400", "tall", "0.001", "99999"])
def test_a_height_that_no_part_has_states_nothing(heights, height):
    assert heights(board_file(), library(package("R 0603", height)))["R1"] is None


def outlined(tmp_path, *records, unit="MM"):
    """Return the sides of a package whose section has these records behind its first."""
    text = f'.ELECTRICAL\n"P" "PN" {unit} 1.0\n' + "".join(f"{r}\n" for r in records) + ".END_ELECTRICAL\n"
    (tmp_path / "library.emp").write_text(library(text))
    return read_here(str(tmp_path / "library.emp"), b"").heights[0].outline


SQUARE = ("0 0 0 0", "0 10 0 0", "0 10 8 0", "0 0 8 0", "0 0 0 0")


@pytest.mark.parametrize(
    ("records", "sides"),
    [
        (SQUARE, (10, 8)),
        ((*SQUARE[:2], "PROP CAPACITANCE 100.0", *SQUARE[2:]), (10, 8)),
        (("0 3 4 0", "0 6 8 360"), (10, 10)),
        # The arc from 330 to 60 degrees of a circle of radius 5 about 0, 0 goes by 5, 0.
        (
            ("0 -5 -5 0", "0 4.330127 -2.5 0", "0 2.5 4.330127 90", "0 -5 4.330127 0", "0 -5 -5 0"),
            (10, 5 + 5 * 3**0.5 / 2),
        ),
        # Three quarters of that circle.
        (("0 5 0 0", "0 0 -5 270", "0 5 0 0"), (10, 10)),
        (("0 5 0 0", "0 0 5 -270", "0 5 0 0"), (10, 10)),
        # A second loop lies farther out than the first.
        ((*SQUARE, "1 -2 2 0", "1 12 2 0", "1 12 4 0", "1 -2 2 0"), (14, 8)),
        ((*SQUARE, "1 0 4 0", "1 0 14 360"), (20, 20)),
        # Torn, open, or turning by more than a circle: what is missing may be the farthest.
        ((*SQUARE[:2], "0 10 8", *SQUARE[3:]), None),
        ((*SQUARE[:2], "0 1O 8 0", *SQUARE[3:]), None),
        (SQUARE[:4], None),
        (("0 5 0 0", "0 0 -5 400", "0 5 0 0"), None),
        (("0 5 0 0", "0 5 0 90", "0 5 0 0"), None),
    ],
)
def test_the_outline_of_a_package_is_no_smaller_than_it_is_drawn(tmp_path, records, sides):
    found = outlined(tmp_path, *records)
    assert found == (None if sides is None else pytest.approx(sides, abs=1e-3))


def test_two_heights_of_one_package_and_two_places_of_one_reference_state_nothing(heights):
    twice = library(package("R 0603", 0.5), package("R 0603", 0.7))
    assert heights(board_file(), twice)["R1"] is None
    assert "R1" not in heights(board_file(part("R1", "R 0603", 1, 1)), library(package("R 0603", 0.5)))


def test_a_height_that_a_name_excludes_is_a_conflict(board):
    text = board_file(part("U1", "SO8", 60, 10))
    read = board("U1,,SOIC127P600X175-8N,60,10,0,top\n", a__emn=text, b__emp=library(package("SO8", 3.5)))
    assert [d for said in body(read, "U1").conflicts if "b.emp" in (d := sentence(said))]


def test_a_part_on_the_other_side_is_asked(board):
    text = board_file(part("J1", "PLUG", 60, 10, "BOTTOM"))
    read = board("J1,,PLUG,60,10,0,top\n", a__emn=text, b__emp=library(package("PLUG", 7.25)))
    assert [d.refs for d in read.discrepancies if d.topic is Topic.AGAINST_LANDS] == [("J1",)]


@pytest.mark.parametrize(
    ("board_text", "told"),
    [
        (board_file(version="2.0"), {"fabrication.not read"}),
        (board_file(unit="FURLONG"), {"fabrication.not read"}),
        (board_file()[:-40], {"fabrication.damaged", "fabrication.heights used"}),
        (board_file(part("J1", "PLUG", "x", "y")), {"fabrication.damaged", "fabrication.heights used"}),
        (".HEADER\nBOARD_FILE 3.0\n" + "\0" * 1000, {"fabrication.not read"}),
    ],
)
def test_a_damaged_board_is_noted_and_the_rest_goes_on(board, board_text, told):
    read = board(a__emn=board_text, b__emp=library(package("R 0603", 0.5)))
    assert set(notes(read)) == told
    assert len(read.placements) == len(SPOTS)


def test_the_note_on_a_library_in_a_wrong_unit_says_what_may_be_wrong(board):
    read = board(a__emn=board_file(), b__emp=library(package("R 0603", 0.5), package("PLUG", 1750)))
    told = [sentence(n.said) for n in read.notes if getattr(n.said, "key", "") == "fabrication.damaged"]
    assert len(told) == 1
    assert "a size that no part has, as in a wrong unit" in told[0]
    assert "pins" not in told[0]


def test_a_board_without_end_is_refused_in_time(tmp_path, in_time):
    file = tmp_path / "long.emn"
    file.write_text(board_file("".join(part(f"C{i}", "C", i, i) for i in range(120_000))))
    with in_time(2), pytest.raises(InputError, match="parts"):
        read_here(str(file), b"")


EDGE = ".BOARD_OUTLINE ECAD\n1.6\n0 0 0 0\n0 80 0 0\n0 80 50 0\n0 0 50 0\n0 0 0 0\n"
HOLES = '.DRILLED_HOLES\n3.2 70 40 NPTH NOREFDES MTG ECAD\n0.9 20 30 PTH "R1" PIN ECAD\n.END_DRILLED_HOLES\n'


def test_its_outline_and_holes_are_those_of_the_board(board):
    cut_out = "1 40 40 0\n1 45 40 360\n2 60 10 0\n2 64 10 0\n2 64 14 180\n2 60 14 0\n2 60 10 180\n"
    read = board(a__emn=board_file() + EDGE + cut_out + ".END_BOARD_OUTLINE\n" + HOLES)
    outline = read.outline
    assert outline.polygon.bounds == pytest.approx((0, 0, 80, 50))
    bounds = sorted(tuple(round(v, 2) for v in ring.bounds) for ring in outline.polygon.interiors)
    assert (40.0, 40.0, 10.0) in outline.holes
    assert (58.0, 10.0, 66.0, 14.0) in bounds
    assert [hole for hole in outline.holes if hole[:2] == (70.0, 40.0)] == [(70.0, 40.0, 3.2)]
    assert not [hole for hole in outline.holes if hole[:2] == (20.0, 30.0)]


@pytest.mark.parametrize("name", ["invented", "THOU"])
def test_a_name_of_the_board_without_blanks_needs_no_quotes(board, name):
    text = board_file().replace('"invented" MM', f"{name} MM")
    assert f"{name} MM" in text
    read = board(a__emn=text + EDGE + ".END_BOARD_OUTLINE\n")
    assert read.outline.polygon.bounds == pytest.approx((0, 0, 80, 50))


@pytest.mark.parametrize(
    "outline", [EDGE.replace("80 50 0", "80 fifty 0"), EDGE.replace("0 80 50 0\n", "0 80 50\n"), ".BOARD_OUTLINE\n"]
)
def test_an_outline_that_is_damaged_is_noted_and_the_rest_goes_on(board, outline):
    read = board(a__emn=board_file() + outline, b__emp=library(package("R 0603", 0.5)))
    assert read.outline is None
    assert notes(read) == ["fabrication.heights used"]
