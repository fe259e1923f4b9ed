"""What lies beside the lists that board.toml names, and is not read: told, however much of it there is.

Figures: invented.
"""

import pytest

from capcheck.intake.folder import not_read
from capcheck.intake.folder.not_read import unreadable_beside


@pytest.fixture
def opened(monkeypatch):
    """The names of the lists that are opened to see whether they can be read."""
    names = []
    monkeypatch.setattr(not_read, "damage_of_list", lambda file: names.append(file.name) or "")
    return names


@pytest.mark.parametrize(("count", "size"), [(250, 10), (30, 1_000_000)])
def test_of_very_many_lists_so_many_are_opened_and_that_there_are_more_is_told(tmp_path, opened, count, size):
    for number in range(count):
        (tmp_path / f"{number:03}.csv").write_bytes(b"x" * size)
    (tmp_path / "zz").symlink_to("/nowhere")
    found = [(one.place.file, str(one.said)) for one in unreadable_beside(tmp_path, set())]
    assert len(opened) == min(200, 20_000_000 // size)
    assert [file for file, _ in found] == [str(tmp_path / "zz"), str(tmp_path)]
    assert "more lists" in found[1][1]


def test_of_few_lists_all_are_opened(tmp_path, opened):
    for number in range(5):
        (tmp_path / f"{number}.csv").write_text("R1\n")
    assert list(unreadable_beside(tmp_path, {tmp_path / "0.csv"})) == []
    assert opened == ["1.csv", "2.csv", "3.csv", "4.csv"]
