"""A name from a customer's folder stands in a line for board.toml so that the line names it again."""

import tomllib

from hypothesis import given, strategies as st

from capcheck.values import in_toml, visible


@given(st.text(st.characters(exclude_categories=["Cs"])))
def test_a_line_for_board_toml_gives_the_name_back_and_shows_no_control_character(name):
    line = f"bom = {in_toml(name)}"
    assert tomllib.loads(line) == {"bom": name}
    assert visible(line) == line
