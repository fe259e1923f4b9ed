"""What a folder of kept results holds is data: foreign, damaged or endless, it costs the keeping and nothing else.

Figures: invented.
"""

import os

import pytest
from msgspec import Struct

from capcheck.checking import Libraries, Prepared
from capcheck.shop import Settings
from capcheck.survey.kept_results import Results

SHOP = Prepared(Settings(), None, [], Libraries([]))


class Sum(Struct):
    total: int


@pytest.fixture
def kept(tmp_path):
    """A board, a folder of results, and the file in which that board's would be kept."""
    board = tmp_path / "board"
    board.mkdir()
    (board / "placements.csv").write_text("Ref,X,Y\nR1,1,1\n")
    results = Results(tmp_path / "kept", lambda _: b"a line")
    results.of(board, SHOP, Sum, lambda *_: Sum(1))
    (file,) = (tmp_path / "kept").iterdir()
    return results, board, file


def again(kept):
    results, board, _ = kept
    return results.of(board, SHOP, Sum, lambda *_: Sum(2)).total


def test_a_result_is_kept(kept):
    assert again(kept) == 1


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"\x81\xa5total",
        b"\x81\xa5total\xa1x",
        b"cos\nsystem\n(S'exit 1'\ntR.",
        b"\x81\xa1x" + b"\x91" * 1_000_000,
        b"\x81\xa5total\xdd\xff\xff\xff\xff",
    ],
)
def test_what_is_none_is_worked_out_anew(kept, content):
    kept[2].write_bytes(content)
    assert again(kept) == 2


def test_a_pipe_or_a_link_in_the_place_of_a_result_is_neither_read_nor_written(kept, tmp_path):
    outside = tmp_path / "outside"
    kept[2].unlink()
    os.mkfifo(kept[2])
    assert again(kept) == 2
    kept[2].unlink()
    kept[2].symlink_to(outside)
    assert again(kept) == 2
    assert not outside.exists()


def test_a_link_that_stands_where_a_result_is_written_is_not_followed(kept, tmp_path):
    outside = tmp_path / "outside"
    kept[2].write_bytes(b"")
    for name in (f"{kept[2].name}.{os.getpid()}", f"{kept[2].name}.part"):
        (kept[2].parent / name).symlink_to(outside)
    assert again(kept) == 2
    assert not outside.exists()


def test_a_result_that_cannot_be_written_leaves_nothing_behind(kept, monkeypatch):
    kept[2].unlink()
    monkeypatch.setattr("msgspec.msgpack.encode", lambda *_, **__: (_ for _ in ()).throw(OSError(28, "No space left")))
    assert again(kept) == 2
    assert not list(kept[2].parent.iterdir())
