"""Every table of the packages names its sources, and a misspelt cell is an error that names file and row.

Figures: invented.
"""

import csv

import pytest
from msgspec import Struct

from capcheck.model import LeadStyle
from capcheck.packages.tables import rows
from capcheck.packages.tables.family_tables import Family, FamilyTable, Word, families
from capcheck.packages.tables.rows import DATA, converted, rows_in, rows_of
from capcheck.values import Interval


class Row(Struct, frozen=True):
    lead_style: LeadStyle
    sides: tuple[str, ...] = ()
    height: Interval | None = None
    pins: int | None = None


@pytest.fixture
def table(tmp_path, monkeypatch):
    monkeypatch.setattr(rows, "DATA", tmp_path)

    def write(text):
        name = f"table{len(list(tmp_path.iterdir()))}_{tmp_path.name}"
        (tmp_path / f"{name}.csv").write_text(f"lead_style,sides,height,pins,source\n{text}\n", encoding="utf-8")
        return name

    return write


def test_cells_become_enums_lists_intervals_and_numbers(table):
    found = rows_of(table("J lead,a;b,0.2..1.6,44,x\nchip,,..0.9,,x"), Row)
    assert found[0] == Row(LeadStyle.J_LEAD, ("a", "b"), Interval(0.2, 1.6), 44)
    assert found[1] == Row(LeadStyle.CHIP, (), Interval(0.0, 0.9), None)


@pytest.mark.parametrize(
    ("line", "field"),
    [
        ("jlead,,,,x", "lead_style"),
        ("chip,,thick,,x", "height"),
        ("chip,,1.6..0.2,,x", "height"),
        ("chip,,,two,x", "pins"),
    ],
)
def test_a_cell_of_another_sort_is_an_error_that_names_file_and_row(table, line, field):
    name = table(f"chip,,,,x\n{line}")
    with pytest.raises(ValueError, match=rf"{name}\.csv:3: .*{field}"):
        rows_of(name, Row)


@pytest.mark.parametrize(
    ("row", "told"), [("SOW,gul wing,0.2,a test", "lead_style"), ("SOW,gull wing,wide,a test", "tolerance_mm")]
)
def test_a_misspelt_word_of_a_family_is_an_error_that_names_family_and_row(row, told):
    table = FamilyTable(
        Family.SOIC, word_table=f"word,lead_style,tolerance_mm,source\nSO,gull wing,0.2,a test\n{row}\n"
    )
    with pytest.raises(ValueError, match=rf"soic words:3: .*{told}"):
        _ = table.words


@pytest.mark.parametrize("told", ["wrd", "family"])
def test_a_misspelt_key_or_family_of_a_file_is_an_error_that_names_the_file(told):
    with pytest.raises(ValueError, match=rf"families/soic\.toml: .*{told}"):
        converted({"family": "soic"} | {told: "soc"}, FamilyTable, "families/soic.toml")


def test_a_misspelt_column_is_an_error_that_names_it():
    with pytest.raises(ValueError, match=r"x:2: .*wrd"):
        rows_in("wrd,lead_style\nSO,gull wing\n", Word, "x", family=Family.SOIC)


@pytest.mark.parametrize("path", sorted(DATA.glob("*.csv")), ids=lambda path: path.stem)
def test_every_row_of_a_table_names_its_source(path):
    with path.open(encoding="utf-8", newline="") as file:
        cells = list(csv.DictReader(file))
    assert cells
    assert all(row["source"].strip() for row in cells)
    assert all(row["basis"].strip() for row in cells if "basis" in row)


@pytest.mark.rows("table", families(), ids=lambda table: table.family)
def test_every_row_of_a_family_names_its_source(table):
    assert all(row.source.strip() for row in (*table.words, *table.outlines, *table.registered))
    assert table.tallest is None or table.tallest.source


def test_the_words_that_outlines_answer_to_and_registered_numbers_stand_for_are_known():
    words = {word.word for table in families() for word in table.words}
    assert {r.word for table in families() for r in table.registered} <= words
    assert {word for table in families() for word in table.by_span} <= words
    assert len(words) == sum(len(table.words) for table in families())


def test_no_family_has_two_tables_that_differ_in_what_holds_for_all_of_it():
    # A second file of a family holds words and outlines; the first tells the bounds.
    for family in {table.family for table in families()}:
        same = [table for table in families() if table.family is family]
        assert all(t.tallest is None and not t.sides_with_leads and not t.many_bodies for t in same[1:])
