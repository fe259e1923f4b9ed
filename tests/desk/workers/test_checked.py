"""A worker's check is the check of the public interface: the same verdicts, in the areas of the page.

Figures: invented, those of fixtures/.
"""

import csv
import json
import re
import shutil

import msgspec
import pytest

import capcheck
from capcheck.desk.areas import AREAS, style_of_pictures
from capcheck.desk.areas.lines import Lines
from capcheck.desk.areas.revisions import Difference
from capcheck.desk.areas.understood import Understood
from capcheck.desk.workers.checked import check_board
from capcheck.desk.workers.orders import Order, Shop, told_of
from capcheck.desk.workers.sorted_boards import sort_boards
from capcheck.report import lacking_on, questions_asked
from capcheck.values import InputError, Place


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
        told = [reason.words for reason in found.lines[number].missing]
        assert {word for word, _ in lacking_on(report)[:2]} <= {*told}
        assert not {"overhang share of the board", "nozzle for size", "nominal width"} & {*told}
    assert result.questions == min(asked)


def _plain(name):
    from capcheck.intake import plain

    return plain(name)


def test_every_area_that_a_worker_makes_is_written_and_reads_back(checked):
    _, into, *_ = checked
    for area in AREAS.values():
        if area.form is not None:
            assert msgspec.json.decode((into / f"{area.name}.json").read_bytes(), type=area.form)
    drawn = (into / "picture.json").read_text("utf-8")
    assert "<style" not in drawn
    ids = set(re.findall(r'id=\\"([\w-]+)', drawn))
    assert set(re.findall(r"url\(#([\w-]+)", style_of_pictures())) <= ids
    assert not ids & set(AREAS), "an area's id is a drawing's too: what refers to one finds the other"


def test_no_area_names_a_folder_of_ours(checked):
    _, into, _, board, configuration = checked
    for area in AREAS.values():
        if area.form is not None:
            text = (into / f"{area.name}.json").read_text("utf-8")
            assert str(board) not in text
            assert str(configuration.path.parent) not in text


def test_the_first_rows_of_each_table_stand_as_they_do_in_its_file(checked):
    _, into, _, board, _ = checked
    found = msgspec.json.decode((into / "understood.json").read_bytes(), type=Understood)
    assert {table.file for table in found.tables} == {"placements.csv", "bom.csv"}
    for table in found.tables:
        with (board / table.file).open(encoding="utf-8", newline="") as file:
            assert [list(row) for row in table.head] == list(csv.reader(file))[:6]
        assert [column.title for column in table.columns] == list(table.head[0])
        assert "reference" in {column.role for column in table.columns}


def test_a_refusal_names_files_by_their_place_in_the_boards_folder():
    error = InputError.at(Place("/desk/boards/1/pump/sub/bom.csv", 3), "is torn", remedy="send it again")
    assert told_of(error, "/desk/boards/1/pump") == ("sub/bom.csv:3: is torn; send it again",)


def test_a_later_revision_is_compared_with_the_one_before(checked, tmp_path):
    _, _, lines, board, configuration = checked
    later = shutil.copytree(board, tmp_path / "later")
    rows = (later / "placements.csv").read_text("utf-8").splitlines(keepends=True)
    gone = rows.pop(8).partition(",")[0]
    (later / "placements.csv").write_text("".join(rows), encoding="utf-8")
    into = tmp_path / "into"
    into.mkdir()
    shop = Shop(str(configuration.path), True, None, tuple(lines[:1]), 0.0)
    check_board(Order(1, "check", str(later), str(into), shop, earlier=str(board)), into)
    found = msgspec.json.decode((into / "revisions.json").read_bytes(), type=Difference)
    assert [line.refs for line in found.sections[0].lines] == [(gone,)]
    assert "<style" not in found.drawing
    assert 'id="revised-hatch"' in found.drawing
    assert "url(#hatch)" not in found.drawing
    assert str(tmp_path) not in (into / "revisions.json").read_text("utf-8")
    assert (into / "downloads" / "difference.html").exists()


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
