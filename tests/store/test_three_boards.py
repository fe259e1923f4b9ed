"""What two boards taught the shop decides the third: a store is filled from two, and used on another customer's.

Figures: invented.
"""

import json

import pytest

from capcheck.cli import main
from capcheck.store import open_store

PLACED = "Ref,Value,Footprint,X (mm),Y (mm),Rotation,Side\n"
LISTED = "References,Value,Part number,Height [mm],Length [mm],Width [mm]\n"


def board(folder, name, parts, stated):
    """Write a board with *parts* by reference, of which some are *stated* with height, length and width."""
    folder.mkdir()
    (folder / "board.toml").write_text(f'name = "{name}"\n')
    places = "".join(f"{ref},,HOUSE-{number},{10 * i},20,0,top\n" for i, (ref, number) in enumerate(parts.items(), 1))
    (folder / "placements.csv").write_text(PLACED + places)
    sizes = {number: ",".join(map(str, stated.get(number, ("", "", "")))) for number in parts.values()}
    (folder / "bom.csv").write_text(LISTED + "".join(f"{ref},,{n},{sizes[n]}\n" for ref, n in parts.items()))
    return folder


def heights(capsys, folder, *arguments):
    main(["read", str(folder), "--format", "json", *arguments])
    read = json.loads(capsys.readouterr().out)
    return {part["part_number"]: (part["body_mm"]["height"], part["body_from"]) for part in read["parts"]}


@pytest.mark.parametrize("whose", ["", "Umbra"])
def test_two_boards_teach_and_a_third_is_told(tmp_path, capsys, address, whose):
    open_store(address).close()
    first = board(tmp_path / "one", "One", {"U1": "AB-1", "U2": "AB-2"}, {"AB-1": (1.5, 4, 3)})
    second = board(tmp_path / "two", "Two", {"U1": "AB-2", "U2": "AB-3"}, {"AB-2": (2.5, 6, 5)})
    third = board(tmp_path / "three", "Three", {"U1": "AB 1", "U2": "ab2", "U3": "AB-3"}, {})
    before = heights(capsys, third)
    assert all(ends[1] is None or ends[0] != ends[1] for ends, _ in before.values())
    kept = ["--store", address, "--customer", whose]
    for taught, by in ((first, []), (second, ["--by", "Ada Example"])):
        assert main(["library", "offer", str(taught), "--keep", "--no-config", *kept, *by]) == 0
        capsys.readouterr()
    after = heights(capsys, third, "--store", address, "--customer", "Umbra")
    assert [after[number][0] for number in ("AB 1", "ab2")] == [[1.5, 1.5], [2.5, 2.5]]
    assert after["AB-3"] == before["AB-3"]
    assert "shop's library, stated by One, " in after["AB 1"][1]
    assert "stated by Ada Example, " in after["ab2"][1]
    assert "(Two, bom.csv:" in after["ab2"][1], "which board's list it was is told beside who took it over"
    # What was learned for one customer alone is not told another.
    other = heights(capsys, third, "--store", address, "--customer", "Noctua")
    assert other == (before if whose else after)
