"""``capcheck part``: every reading of one part, what won and why.

Figures: bodies of invented parts; sizes are the digits of the texts beside them.
"""

import json

import pytest

# Part numbers follow their makers' published schemes (sources: packages/data/part_numbers); devices are invented.


# Sizes: reference/size_codes.csv, and JEDEC MS-012 AA under its IPC-7351B name.
@pytest.fixture
def board(make_board):
    return make_board(
        [
            "R1,1,1,0,top,10k,RES-0402-1005M",
            "C7,5,5,0,top,100n,C0603",
            "U2,9,9,0,top,QX1,SOIC127P600X175-8N",
            "FID1,2,2,0,top,,Fiducial",
        ],
        bom=["Ref,Value,Package", "R1,10k,0603", "C7,100n,", "U2,QX1,"],
    )


# reference/size_codes.csv.
def test_text_names_every_candidate_the_winner_and_the_reason(run, board):
    code, out, err = run("part", "R1", board)
    assert (code, err) == (0, "")
    assert out.splitlines()[0].startswith("R1 (")
    assert 'footprint "RES-0402-1005M" as size code 0402' in out
    assert '"0603"' in out
    first = next(line for line in out.splitlines() if line.startswith("  1. "))
    assert "RES-0402-1005M" in first
    assert "decoded from a name" in first
    disputed = " ".join(out[out.index("\n  length ") :].split()).partition("candidates, best first")[0]
    assert "RES-0402-1005M" in disputed
    assert ', against BOM package "0603"' in disputed
    assert "conflict: body:" in out
    out = run("part", "U2", board)[1]
    taken, _, reason = " ".join(out[out.index("\n  length ") :].split()).partition(": from ")
    assert reason.startswith("1 (")
    assert "nominal width 3.9 mm" in taken  # what comes from one reading is said together


def test_what_nothing_tells_is_listed(run, make_board):
    board = make_board(["J1,1,1,0,top,,QX9", "L2,5,5,0,top,,L_4.0x4.0x1.8"])
    assert "not known: length, width, height, pitch, mounting" in run("part", "J1", board)[1]
    assert json.loads(run("part", "J1", board, "--format", "json")[1])["unknown"][0] == "length"
    coil = run("part", "L2", board)[1]
    assert "not known" not in coil
    assert "tape width" in coil


def test_json_gives_basis_source_and_candidate_of_each_number(run, board):
    code, out, _ = run("part", "U2", board, "--format", "json")
    data = json.loads(out)
    assert code == 0
    height = data["taken"]["height"]
    assert height["value"][1] == 1.75
    assert height["basis"] == "decoded from a name"
    assert data["candidates"][height["candidate"] - 1]["source"] == height["source"]
    assert data["taken"]["pins"]["value"] == 8


def test_json_and_text_tell_the_same_conflicts_and_questions(run, board):
    for ref in ("R1", "C7", "U2"):
        data = json.loads(run("part", ref, board, "--format", "json")[1])
        text = " ".join(run("part", ref, board)[1].split())
        assert text.count("conflict: ") == len(data["conflicts"])
        assert all(f"conflict: {conflict}" in text for conflict in data["conflicts"])
        assert text.count("open: ") == len(data["questions"])
        assert all(f"open: {question}" in text for question in data["questions"])


@pytest.mark.parametrize(("ref", "like"), [("R11", "R1"), ("u2", "U2")])
def test_an_unknown_reference_ends_with_2_and_the_nearest(run, board, ref, like):
    code, out, err = run("part", ref, board)
    assert (code, out) == (2, "")
    assert f'did you mean "{like}"?' in err


def test_a_mark_has_no_body(run, board):
    code, _, err = run("part", "FID1", board)
    assert code == 2
    assert "no part" in err
    assert "placements.csv:5" in err


def test_placements_alone_do(run, board):
    code, out, _ = run("part", "C7", "--placements", board / "placements.csv")
    assert code == 0
    assert "C0603" in out  # reference/size_codes.csv


def test_the_library_is_named_where_it_wins(run, board, tmp_path):
    path = tmp_path / "bodies.csv"
    # 0603: reference/size_codes.csv; the height is invented.
    path.write_text("footprint,length [mm],width [mm],height [mm]\nC0603,1.6,0.8,0.9\n")
    out = run("part", "C7", board, "--library", path)[1]
    assert "  1. shop library bodies.csv:2" in out
    taken = next(line for line in out.splitlines() if line.startswith("  length "))
    assert "height 0.9 mm" in taken
    assert taken.endswith("from 1 (the shop's library goes before names)")


def test_a_stated_mounting_is_told(run, make_board):
    board = make_board(["J1,1,1,0,top,,QX9"], toml='mounting = { "J*" = "surface" }')
    assert "board.toml: mounting surface" in run("part", "J1", board)[1]
    assert json.loads(run("part", "J1", board, "--format", "json")[1])["mounting_stated"] == "surface"


def test_it_writes_to_a_file(run, board, tmp_path):
    code, out, _ = run("part", "R1", board, "--output", tmp_path / "r1.txt")
    assert (code, out) == (0, "")
    assert (tmp_path / "r1.txt").read_text().startswith("R1 (")


def table_of(out):
    """Return the rows of the table of witnesses, by fact, and all lines before the details."""
    lines = out.partition("\ntaken:")[0].splitlines()
    return {line.split()[0]: line for line in lines if line[:1].isalpha() and "  " in line.strip()}, lines


# reference/size_codes.csv.
@pytest.fixture
def crowded(make_board):
    """A part of which seven sources say something."""
    return make_board(
        ["R1,1,1,0,top,10k 0603,RES-0402-1005M"],
        bom=[
            "Ref,Value,Description,Part number,Package,Length [mm],Width [mm]",
            "R1,10k 0603,RES 0805 1%,RC1206FR-0710KL,1210,1.0,0.5",
        ],
    )


def test_the_witnesses_stand_side_by_side_with_what_counts(run, board):
    out = run("part", "R1", board)[1]
    rows, lines = table_of(out)
    head = next(line for line in lines if "what counts" in line)
    assert head.split() == ["footprint", "BOM", "package", "what", "counts"]
    assert rows["size"].index("*") == head.index("footprint")
    assert rows["size"].index("!") == head.index("BOM package")
    assert rows["pitch"].split() == ["pitch", "-"]  # nobody asks for the pitch of two terminals
    assert "says nothing of the body: value" in out
    assert out.index("what would settle it") < out.index("candidates, best first")


# SOT-23 has its leads 0.95 mm apart, SOT-323 0.65 mm; TSSOP 0.65 mm, SOIC 1.27 mm: JEDEC TO-236, MO-153, MS-012.
@pytest.mark.parametrize(
    ("footprint", "says", "marks"),
    [
        ("SOT-23", "SOT-323", {"kind": "!", "size": "!", "pitch": "!", "pins": "=", "leads": "="}),
        ("SOIC-8 narrow", "TSSOP-8", {"kind": "!", "size": "!", "pitch": "!", "pins": "=", "leads": "="}),
        ("BGA100C80P10X10_1000X1000", "BGA100C80P10X10_900X900", {"size": "!", "pitch": "="}),
        ("R0603", "0603", {"size": "=", "pins": "="}),
    ],
)
def test_a_witness_agrees_only_where_what_it_says_meets_what_is_taken(run, make_board, footprint, says, marks):
    board = make_board([f"U1,1,1,0,top,,{footprint}"], bom=["Ref,Package", f"U1,{says}"])
    rows, lines = table_of(run("part", "U1", board)[1])
    head = next(line for line in lines if "what counts" in line)
    at = head.index("BOM package")
    assert {fact: rows[fact][at] for fact in marks} == marks


def test_what_the_sort_and_the_count_of_a_part_bound_is_shown_without_a_witness(run, make_board):
    out = run("part", "J1", make_board(["J1,1,1,0,top,3P 2.54mm,"]))[1]
    rows, _ = table_of(out)
    assert rows["pitch"].split() == ["pitch", "2.54", "mm", "(bound", "of", "the", "family)"]
    assert "no source names the body" in out


def test_the_table_stays_within_80_columns_with_any_number_of_witnesses(run, crowded, tmp_path):
    library = tmp_path / "bodies.csv"
    library.write_text("part number,height [mm]\nrc1206fr 0710kl,0.6\n")
    _, lines = table_of(run("part", "R1", crowded, "--library", library)[1])
    heads = [line for line in lines if "what counts" in line]
    assert len(heads) == 2
    for name in ("footprint", "part number", "description", "value", "BOM package", "columns", "library"):
        assert sum(name in head for head in heads) == 1
    start = lines.index(heads[0])
    assert max(map(len, lines[start:])) <= 80


def test_a_part_of_which_nothing_is_known_says_so_with_the_row_to_fill_in(run, make_board):
    out = run("part", "J1", make_board(["J1,1,1,0,top,,QX9"]))[1]
    assert "no source says anything of the body" in out
    assert "    footprint,length [mm],width [mm],height [mm],pitch [mm],mounting\n    QX9,,,,,\n" in out
    assert '    mounting = { "J1" = "surface" }' in out


# reference/size_codes.csv.
def test_json_has_the_witnesses_with_their_marks(run, board):
    data = json.loads(run("part", "R1", board, "--format", "json")[1])
    assert data["schema"] == "capcheck-part/1"
    marks = {witness["name"]: witness["says"]["size"]["mark"] for witness in data["witnesses"]}
    assert marks == {"footprint": "taken", "BOM package": "contradicts"}
    assert data["silent"] == ["value"]
    assert data["counts"]["kind"] == "chip 1005M (inch 0402) or chip 1608M (inch 0603)"
    assert data["others"] == []


# Sizes: reference/size_codes.csv, JEDEC MS-012 AC, MS-026 BBC, MO-153 AB; bodies that the numbers state, from memory.
@pytest.mark.parametrize(
    ("row", "line"),
    [
        ("R1,1,1,0,top,10k,RES-0402-1005M", "R1,RC0603FR-0710KL,,"),
        ("U1,1,1,0,top,,LQFP48 pitch0.5mm body7x7mm", "U1,STM32F999CBU6,,"),
        ("U1,1,1,0,top,,TSSOP16-P0.65-4.4x5mm", "U1,,SOIC-16 3.9x9.9mm,"),
        ("C1,1,1,0,top,,CAPMP3216X180N", "C1,TCJK476M006R0150,,"),
        ("R1,1,1,0,top,,RES-0402-1005M", "R1,,0603,"),
    ],
)
def test_each_line_that_would_settle_a_conflict_does(run, make_board, tmp_path, row, line):
    ref = row.partition(",")[0]

    def told(*arguments, toml=""):
        board = make_board([row], bom=["Ref,Part number,Package,Description", line], toml=toml)
        return json.loads(run("part", ref, board, "--format", "json", *arguments)[1])

    before = told()
    assert before["conflicts"]
    assert {settling["file"] for settling in before["settle"]} == {"board.toml", "library"}
    for settling in before["settle"]:
        if settling["file"] == "board.toml":
            after = told(toml="\n".join(settling["lines"]) + "\n")
        else:
            library = tmp_path / "bodies.csv"
            library.write_text("\n".join(settling["lines"]) + "\n")
            after = told("--library", library)
        assert after["settle"] == [], settling
        assert "either counts" not in str(after["conflicts"])


# Invented name.
def test_what_narrowed_a_witness_is_told(run, make_board):
    board = make_board(["U1,1,1,0,top,,QFN-44"], bom=["Ref,Description", "U1,QFN-44 8x8 mm"])
    assert 'narrowed: footprint by description "QFN-44 8x8 mm"' in run("part", "U1", board)[1]


def test_each_line_of_the_bom_that_names_the_part_is_told(run, make_board):
    board = make_board(["R1,1,1,0,top,,OWN"], bom=["Ref,Part number", "R1,RC0402FR-0710KL", "R1,RC0603FR-0710KL"])
    out = run("part", "R1", board)[1]
    assert "bom.csv:2 has it (1 of 2; any of them may be right)" in out
    assert "1.6" in out.partition("(2 of 2")[2]
    assert len(json.loads(run("part", "R1", board, "--format", "json")[1])["others"]) == 1
