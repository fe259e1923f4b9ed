"""A worker's check is the check of the public interface: the same verdicts, in the areas of the page.

Figures: invented, those of fixtures/.
"""

import json
import shutil

import msgspec
import pytest

import capcheck
from capcheck.desk.areas import AREAS
from capcheck.desk.areas.lines import Lines
from capcheck.desk.workers.checked import check_board
from capcheck.desk.workers.orders import Order, Shop
from capcheck.desk.workers.sorted_boards import sort_boards
from capcheck.report import questions_asked


@pytest.fixture(scope="module")
def checked(tmp_path_factory, demo_shop):
    configuration, board = demo_shop
    lines = [str(configuration.beside(name)) for name in list(configuration.values.lines.values())[:2]]
    into = tmp_path_factory.mktemp("into")
    order = Order(1, "check", str(board), str(into), Shop(str(configuration.path), True, None, tuple(lines), 0.0))
    return check_board(order, into), into, lines, board, configuration


def test_the_verdicts_are_those_of_the_public_interface(checked):
    result, into, lines, board, configuration = checked
    found = msgspec.json.decode((into / "lines.json").read_bytes(), type=Lines)
    asked = []
    for number, line in enumerate(lines):
        report = capcheck.check(board, line=line, config=configuration)
        assert result.lines[number].verdict == report.verdict
        assert found.lines[number].counts == repr(report).partition(": ")[2].rstrip(">")
        written = json.loads((into / "downloads" / f"report on {_plain(report.line.name)}.json").read_text("utf-8"))
        assert written["counts"] == report.counts
        asked.append(questions_asked(report))
    assert result.questions == min(asked)


def _plain(name):
    from capcheck.intake import plain

    return plain(name)


def test_every_area_that_a_worker_makes_is_written_and_reads_back(checked):
    _, into, *_ = checked
    for area in AREAS.values():
        if area.form is not None:
            assert msgspec.json.decode((into / f"{area.name}.json").read_bytes(), type=area.form)
    assert "<style" not in (into / "picture.json").read_text("utf-8")


def test_no_area_names_a_folder_of_ours(checked):
    _, into, _, board, configuration = checked
    for area in AREAS.values():
        if area.form is not None:
            text = (into / f"{area.name}.json").read_text("utf-8")
            assert str(board) not in text
            assert str(configuration.path.parent) not in text


def test_what_came_is_told_apart_by_board(tmp_path, demo_shop):
    configuration, board = demo_shop
    source = tmp_path / "arrived"
    shutil.copytree(board, source / "pump")
    shutil.make_archive(str(source / "lamp"), "zip", board)
    into = tmp_path / "into"
    order = Order(1, "sort", str(source), str(into), Shop(str(configuration.path)), name="Meadow")
    into.mkdir()
    found = sort_boards(order, into)
    assert len(found.boards) == 2
    for one in found.boards:
        assert {file.path for file in one.files} == {path.name for path in board.iterdir()}
        for file in one.files:
            assert (into / one.folder / file.path).read_bytes() == (board / file.path).read_bytes()


def test_lists_of_several_boards_in_one_folder_get_a_folder_each(tmp_path, shop):
    source, into = tmp_path / "arrived", tmp_path / "into"
    source.mkdir()
    into.mkdir()
    for board in ("irrigation-controller", "light-strip"):
        for name in ("bom.csv", "placements.csv"):
            shutil.copy(shop / board / name, source / f"{board} {name}")
    found = sort_boards(Order(1, "sort", str(source), str(into), Shop(), name="Meadow"), into).boards
    assert [{file.path for file in one.files} for one in found] == [
        {f"{board} bom.csv", f"{board} placements.csv"} for board in ("irrigation-controller", "light-strip")
    ]


def test_what_holds_no_board_is_kept_as_one_that_its_check_refuses(tmp_path):
    source, into = tmp_path / "arrived", tmp_path / "into"
    source.mkdir()
    into.mkdir()
    (source / "drawing.txt").write_text("see the drawing", encoding="utf-8")
    order = Order(1, "sort", str(source), str(into), Shop(), name="Meadow")
    [one] = sort_boards(order, into).boards
    assert (one.name, [file.path for file in one.files]) == ("Meadow", ["drawing.txt"])
