"""What a survey writes is never what it read, and a survey of nothing says why on standard error.

Figures: invented.
"""

import shutil

import pytest


@pytest.fixture
def order(tmp_path, shop):
    shutil.copytree(shop / "light-strip", tmp_path / "order" / "strip")
    return tmp_path / "order"


@pytest.mark.parametrize("command", ["survey", "needs"])
def test_a_file_of_a_board_is_not_written_over(order, shop, run, command):
    file = order / "strip" / "placements.csv"
    before = file.read_bytes()
    more = ("--line", shop / "lines" / "chip.line.toml", "--plan-seconds", "0") if command == "survey" else ()
    code, _, err = run(command, order, *more, "--format", "csv", "--output", file)
    assert (code, file.read_bytes()) == (2, before)
    assert "input of this run" in err


@pytest.mark.parametrize("command", ["survey", "needs"])
def test_why_no_board_was_read_is_said_where_errors_are(tmp_path, shop, run, command):
    (tmp_path / "order.zip").write_bytes(b"PK\x03\x04damaged")
    more = ("--line", shop / "lines" / "chip.line.toml") if command == "survey" else ()
    code, _, err = run(command, tmp_path / "order.zip", *more, "--output", tmp_path / "out.html", "--format", "html")
    assert code == 2
    assert "order.zip: the archive is damaged" in err
    assert "unpack it" in err


def test_a_list_that_was_read_is_no_place_for_a_profile(order, tmp_path, run):
    quantities = tmp_path / "year.csv"
    quantities.write_text("board,per year\nstrip,500\n")
    code, _, err = run("needs", order, "--per-year", quantities, "--profile", quantities)
    assert (code, quantities.read_text()) == (2, "board,per year\nstrip,500\n")
    assert "input of this run" in err


def test_of_several_files_none_is_written_where_one_must_not_be(order, shop, tmp_path, run):
    line, first = shop / "lines" / "chip.line.toml", tmp_path / "first.csv"
    outputs = ("--output", first, "--output", order / "strip" / "bom.csv")
    code, _, err = run("survey", order, "--line", line, "--plan-seconds", "0", *outputs)
    assert code == 2
    assert "input of this run" in err
    assert not first.exists()


@pytest.mark.parametrize("form", ["text", "json", "csv", "html"])
def test_the_needs_of_no_board_are_told_in_every_format(tmp_path, run, form):
    (tmp_path / "order.zip").write_bytes(b"PK\x03\x04damaged")
    code, _, err = run("needs", tmp_path / "order.zip", "--format", form)
    assert code == 2
    assert err.startswith("not read: ")
    assert "not foreseen" not in err
