"""A column of bytes answers like the list of its texts; where it cannot, it says so instead of answering wrongly."""

import math

import pytest
from hypothesis import given, strategies as st

from capcheck.intake.files.packed import pack, pack_around

# Short and long cells, equal beginnings and ends, other scripts; no line break, which would be two cells.
CELLS = st.lists(
    st.one_of(
        st.sampled_from(["", "R1", "R10", "R", "100n", "µ", "部品1", "a" * 8, "a" * 9, "a" * 64, "x y", "12"]),
        st.text(st.characters(exclude_characters="\n\x00", exclude_categories=["Cs"]), max_size=20),
    ),
    min_size=1,
    max_size=40,
)
NUMBERS = st.one_of(
    st.from_regex(r"[+-]?[0-9]{0,9}(\.[0-9]{0,8})?", fullmatch=True),
    st.floats(-999, 999).map(lambda x: f"{x:.4f}"),
    st.sampled_from(["1e3", "1-2", "--1", "1.2.3", ".", "-", "+", "1,5", "1_0", "nan", "0x1", " 1", "\u0661"]),
)


@given(CELLS)
def test_a_packed_column_is_the_sequence_of_its_texts(cells):
    column = pack(cells)
    assert len(column) == len(cells)
    assert [column[i] for i in range(len(cells))] == cells
    assert column[1:7:2] == cells[1:7:2]
    assert column == cells
    assert list(column) == cells
    assert column[-1] == cells[-1]
    assert column.filled.tolist() == [bool(cell) for cell in cells]


@given(CELLS, CELLS)
def test_two_columns_differ_where_a_text_does(one, two):
    assert (pack(one) == pack(two)) is (one == two)


@pytest.mark.parametrize("cells", [["a\nb"], ["", "\n"]])
def test_a_cell_with_a_line_break_is_not_packed(cells):
    assert pack(cells) is None


@given(CELLS)
def test_equal_cells_are_those_that_a_dictionary_finds(cells):
    first = pack(cells).first_equal()
    assert first.tolist() == [cells.index(cell) for cell in cells]
    numbers, texts = pack(cells).coded()
    assert texts == list(dict.fromkeys(cells))
    assert [texts[k] for k in numbers] == cells


def test_longer_cells_are_left_to_a_dictionary():
    assert pack(["a" * 65, "b"]).first_equal() is None


def test_many_equal_and_many_different_cells_are_told_apart():
    """Thousands of cells that share their first or last eight bytes, or all bits of a weak hash."""
    cells = [f"{'same start ' * (n % 3)}{n % 4001:08d}{' same end' * (n % 2)}" for n in range(20_000)]
    numbers, texts = pack(cells).coded()
    assert texts == list(dict.fromkeys(cells))
    assert [texts[k] for k in numbers.tolist()] == cells


@given(st.lists(NUMBERS, min_size=1, max_size=30))
def test_numbers_are_those_of_python_to_the_last_bit_or_none(cells):
    values = pack(cells).numbers()
    if values is None:
        return
    assert values.tolist() == [float(cell) for cell in cells]


@given(st.lists(st.floats(-9999, 9999).map(lambda x: f"{x:.4f}"), min_size=1, max_size=30))
def test_coordinates_are_always_read_as_numbers(cells):
    assert pack(cells).numbers().tolist() == [float(cell) for cell in cells]


@given(st.lists(NUMBERS, min_size=1, max_size=30))
def test_decimal_commas_are_read_as_points_are_and_points_then_are_none(cells):
    swapped = [cell.translate(str.maketrans(".,", ",.")) for cell in cells]
    plain, comma = pack(cells).numbers(), pack(swapped).numbers(",")
    assert (plain is None) is (comma is None)
    if plain is not None:
        assert plain.tolist() == comma.tolist()


def test_a_minus_before_zero_stays():
    assert math.copysign(1, pack(["-0.0000"]).numbers()[0]) == -1


@pytest.mark.parametrize("cell", ["", "1-2", "1.2.3", ".", "-", "1e3", "1,5", "123456789", "1.12345678", "1 ", "a"])
def test_what_is_no_plain_number_is_no_number(cell):
    assert pack(["1.5", cell, "2"]).numbers() is None


@given(CELLS)
def test_cells_without_the_digits_at_their_ends(cells):
    column = pack(cells).without_number()
    if column is not None:
        assert column == [cell.rstrip("0123456789") for cell in cells]


def test_a_unit_is_taken_off_only_if_every_cell_has_it():
    assert pack(["1.5mm", "-2mm"]).without_ending("mm") == ["1.5", "-2"]
    assert pack(["1.5mm", "-2"]).without_ending("mm") is None
    assert pack(["1.5mm", "m"]).without_ending("mm") is None


@given(st.lists(st.text(" \t\u00a0\u3000\x1c\x0bab\u00e9", max_size=6), min_size=1, max_size=20))
def test_blanks_are_taken_off_as_python_does(cells):
    assert list(pack(cells).stripped()) == [cell.strip() for cell in cells]


@given(CELLS, st.sampled_from(["R1", "", "a" * 8, "a" * 9, "部品1", "x"]))
def test_a_text_is_found_where_a_cell_is_exactly_that(cells, text):
    assert pack(cells).holds(text) is (text in cells)


@given(st.data())
def test_columns_are_put_together_in_their_order(data):
    rows, more = data.draw(st.integers(1, 5)), data.draw(st.integers(0, 4))
    text = st.text("abcé1", max_size=5)
    middle = [data.draw(st.lists(text, min_size=rows, max_size=rows)) for _ in range(2)]
    around = [data.draw(st.lists(text, min_size=more, max_size=more)) for _ in range(2)]
    at = data.draw(st.integers(0, more))
    shared = pack([*middle[0], *middle[1]])
    packed = [
        type(shared)(shared.data, shared.starts[k * rows :][:rows], shared.ends[k * rows :][:rows]) for k in range(2)
    ]
    whole = pack_around(packed, around, at)
    assert [list(column) for column in whole] == [[*a[:at], *m, *a[at:]] for a, m in zip(around, middle, strict=True)]


def test_no_cells_are_an_empty_column():
    assert pack([]) == []
    assert pack([]).numbers() is None
    assert pack([]).coded()[1] == []
