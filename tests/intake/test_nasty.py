"""Hostile and broken files end in a clear error or a note, within seconds and memory, and lose no row in silence.

Figures: invented, or the digits of the text; an inch is 25.4 mm by definition.
"""

from __future__ import annotations

import hashlib
import os
import subprocess
import sys
from pathlib import Path

import pytest
from depth import sample_size
from hypothesis import given, settings, strategies as st

from capcheck.intake.tables import Table, read_tables
from capcheck.intake.tables.columns import recognise
from capcheck.lexicon import sentence
from capcheck.values.errors import InputError, Problem

GOOD = "Ref,X,Y,Rot,Side\nR1,1.5,2.5,90,top\nR2,2.5,2.5,90,top\n"


def read(folder: Path, data: str | bytes) -> list[Table]:
    path = folder / "t.csv"
    path.write_bytes(data if isinstance(data, bytes) else data.encode())
    tables = read_tables(path)
    for table in tables:
        assert len(table) + len(table.set_aside) == table.total_rows
        assert all(len(column) == len(table) for column in table.columns)
    return tables


def test_a_last_line_without_a_line_end_is_read(tmp_path):
    (table,) = read(tmp_path, GOOD.rstrip("\n"))
    assert table.columns[0] == ["R1", "R2"]


def test_a_cell_of_a_third_of_a_megabyte_is_kept_whole(tmp_path):
    big = "x" * 300_000
    (table,) = read(tmp_path, f'Ref,X,Y,Rot,Note\nR1,1.5,2.5,90,"{big}"\nR2,2.5,2.5,0,ok\n')
    assert table.columns[4] == [big, "ok"]


def test_nul_bytes_are_removed_and_noted(tmp_path):
    (table,) = read(tmp_path, GOOD.replace("R2", "R\x002"))
    assert table.columns[0] == ["R1", "R2"]
    assert "NUL" in sentence(table.notes[0].said)


def test_ragged_rows_stay_and_are_noted(tmp_path):
    (table,) = read(tmp_path, GOOD + "R3,3.5,2.5\nR4,4.5,2.5,0,top,extra,more\n")
    assert table.columns[0] == ["R1", "R2", "R3", "R4"]
    assert table.columns[3] == ["90", "90", "", "0"]
    assert table.columns[6] == ["", "", "", "more"]
    said = " ".join(sentence(note.said) for note in table.notes)
    assert "row 5 has more cells" in said
    assert "row 4 has fewer cells" in said


@pytest.mark.parametrize(
    ("rows", "shifted"),
    [
        (["U1,1,0.8,0.5,0.4,SMD", "U2,1,0.8,0.5,1.2,SMD"], True),
        (["U1,QX-1,0.8,0.5,0.4,SMD", "U2,QX-2,0.8,0.5,1.2,SMD"], True),
        (["U1,QX-1,0.8,0.5,1,0.4", "U2,QX-2,0.8,0.5,1,1.2"], True),
        (["U1,QX-1,1,0.8,0.5,0.4", "U2,QX-2,1,0.8,0.5,1.2"], False),
    ],
)
def test_where_every_row_is_short_its_titles_tell_whether_all_have_shifted(tmp_path, rows, shifted):
    header = "Ref,Part number,Qty,Length [mm],Width [mm],Height [mm],Mounting"
    (table,) = read(tmp_path, "\n".join([header, *rows]) + "\n")
    assert bool(table.doubtful) == shifted


def test_a_row_of_countless_cells_is_set_aside(tmp_path):
    (table,) = read(tmp_path, GOOD + "R3" + ",x" * 100_000 + "\n")
    assert len(table) == 2
    assert sentence(table.set_aside[-1].reason) == "100001 cells where the header has 5"


def test_duplicate_headers_are_asked_about(tmp_path):
    (table,) = read(tmp_path, "Ref,X,Y,X,Y\nR1,1,2,3,4\nR2,2,3,5,6\n")
    with pytest.raises(InputError, match="2 pairs"):
        recognise(table, "placements")


def test_a_quote_that_is_never_closed_swallows_no_row(tmp_path):
    lines = "".join(f"R{n},{n}.5,2.5,90,top\n" for n in range(3, 300))
    (table,) = read(tmp_path, GOOD.replace("R2,2.5,2.5,90,top", 'R2,2.5,2.5,90,"top') + lines)
    assert len(table) == 299
    assert "never closed" in sentence(table.notes[0].said)


@pytest.mark.parametrize("odd", ['R2,2",",2.5,90,top', 'R2,2""",2.5,90,"top'])
@pytest.mark.parametrize("count", [20, 9000])
def test_an_open_quote_swallows_nothing_though_the_quotes_of_the_file_are_even_in_number(tmp_path, odd, count):
    lines = "".join(f"R{n},{n}.5,2.5,90,top\n" for n in range(3, count))
    (table,) = read(tmp_path, GOOD.replace("R2,2.5,2.5,90,top", odd) + lines)
    assert list(table.row_numbers) == list(range(2, count + 1))


@pytest.mark.parametrize("count", [20, 9000])
@pytest.mark.parametrize("second", [4, 12])
def test_rows_between_two_stray_quotes_are_not_lost(tmp_path, count, second):
    lines = "".join(f"R{n},{n}.5,2.5,90,top\n" for n in range(3, count))
    lines = lines.replace(f"R{second},{second}.5,", f'R{second},{second}.5",')
    (table,) = read(tmp_path, GOOD.replace("R2,2.5,2.5,90,top", 'R2,2.5,2.5,90,"top') + lines)
    assert list(table.row_numbers) == list(range(2, count + 1))
    assert any("stray quotes join" in sentence(note.said) for note in table.notes)


def test_a_last_cell_of_two_lines_that_is_closed_is_left_as_it_is(tmp_path):
    (table,) = read(tmp_path, GOOD + 'R3,3.5,2.5,90,"top\nside"\n\n')
    assert len(table) == 3
    assert table.columns[4][2] == "top\nside"


@pytest.mark.parametrize(
    "bad", ["Ref,X,Y\n", "", "\n" * 5, "one word\n" * 9, "x" * 3_000_000, '"' * 300_000, ("," * 50 + "\n") * 500]
)
def test_what_holds_no_rows_is_an_error(tmp_path, bad):
    with pytest.raises(InputError):
        read(tmp_path, bad)


def test_random_bytes_are_an_error(tmp_path):
    with pytest.raises(InputError):
        read(tmp_path, b"".join(hashlib.sha256(bytes([n % 256, n // 256])).digest() for n in range(6000)))


def test_a_million_blank_lines_are_one_entry(tmp_path, in_time):
    with in_time(20, waiting=True):  # a runaway, not a speed, is what this would show
        (table,) = read(tmp_path, GOOD + "\n" * 1_000_000 + "R3,3.5,2.5,0,top\n")
        assert list(table.row_numbers) == [2, 3, 1_000_004]
        assert [sentence(a.reason) for a in table.set_aside] == ["header", "blank rows 4 to 1000003"]


def test_tables_nested_without_end_are_an_error(tmp_path):
    with pytest.raises(InputError):
        read(tmp_path, "<table>" * 50_000)


@pytest.mark.skipif(sys.platform != "linux", reason="reads the kernel's memory figure")
def test_large_files_stay_within_500_megabytes(tmp_path):
    path = tmp_path / "t.csv"
    path.write_text(GOOD + "".join(f"C{n},{n % 300}.25,{n % 200}.5,90,top\n" for n in range(119_000)))
    script = (
        "import sys, pathlib; from capcheck.intake.tables import read_tables; read_tables(sys.argv[1]);"
        "print([l.split()[1] for l in open('/proc/self/status') if l.startswith('VmHWM')][0])"
    )
    done = subprocess.run([sys.executable, "-c", script, os.fspath(path)], capture_output=True, text=True, check=True)
    assert int(done.stdout) < 500_000


@given(data=st.binary(max_size=300) | st.text(max_size=300).map(lambda t: t.encode("utf-8", "surrogatepass")))
@settings(max_examples=sample_size(200))
def test_no_bytes_whatever_end_in_another_error_or_lose_a_row(tmp_path, data):
    problems: tuple[Problem, ...] = ()
    try:
        read(tmp_path, data)
    except InputError as error:
        problems = error.problems
    assert all(problem.what and problem.remedy for problem in problems)


TOKENS = st.sampled_from(
    [
        "R1",
        "C2",
        "Ref",
        "X",
        "Y",
        "1.5",
        "2,5",
        ",",
        ";",
        "\t",
        "|",
        " ",
        "  ",
        "\n",
        "\n\n",
        '"',
        '""',
        "#",
        "--",
        "total",
        "<table>",
        "top",
    ]
)


@given(tokens=st.lists(TOKENS, max_size=60))
@settings(max_examples=sample_size(300))
def test_no_jumble_of_table_like_text_breaks_the_count(tmp_path, tokens):
    try:
        tables = read(tmp_path, "".join(tokens))
    except InputError:
        return
    for table in tables:
        places = [*table.row_numbers, *(a.place.row for a in table.set_aside)]
        assert len(set(places)) == len(places)
