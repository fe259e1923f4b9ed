"""Folders below a board's and archives in it: read where the folder has no placements, else named and compared.

Figures: invented, or the digits of the text.
"""

import io
import os
import stat
import zipfile

import pytest

from capcheck.intake.archives.archive import removed_at_the_end, unpack
from capcheck.intake.read import read_package
from capcheck.lexicon import sentence
from capcheck.model import Side, Topic
from capcheck.values.errors import InputError

PLACED = "Ref,X (mm),Y (mm),Rotation,Side\n" + "".join(f"R{i},{i}.5,{i},0,top\n" for i in range(1, 9))
MOVED = PLACED.replace("R8,8.5,8", "R8,120,8")
PARTS = "Quantity,Reference,Value,Part number\n8,R1-R8,10k,PN-1\n"


def write(folder, **files):
    for name, text in files.items():
        path = folder / name.replace("__", ".").replace("_in_", "/")
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text)
    return folder


def archive(path, **files):
    with zipfile.ZipFile(path, "w") as packed:
        for name, text in files.items():
            packed.writestr(name.replace("__", ".").replace("_in_", "/"), text)
    return path


def said(package):
    return [sentence(note.said) for note in package.notes]


def is_asked(package):
    return any(d.open and d.topic == "placements" for d in package.decisions)


@pytest.mark.parametrize("name", ["assembly_in_pnp__csv", "out_in_assembly_in_pnp__csv"])
def test_placements_below_the_folder_are_taken_where_it_has_none(tmp_path, name):
    package = read_package(write(tmp_path, bom__csv=PARTS, **{name: PLACED}))
    assert len(package.placements) == 8
    assert package.bom is not None
    assert any("taken from below" in text and "assembly/pnp.csv" in text for text in said(package))


def test_what_settles_a_file_below_the_folder_names_it_from_there(tmp_path):
    (tmp_path / "to assemble").mkdir()
    (tmp_path / "to assemble" / "placed.csv").write_text("Ref,X,Y\nC1,1.5,2.5\nC2,3.5,2.5\n")
    (tmp_path / "to assemble" / "list.csv").write_text("Reference,Qty,MPN\nC1,1,XQ9901-99\nC2,1,XQ9901-99\n")
    settled = {d.topic: d.settle for d in read_package(tmp_path).decisions}
    assert settled[Topic.BOM] == 'bom = "to assemble/list.csv"'
    assert settled[Topic.PLACEMENTS] == 'placements = "to assemble/placed.csv"'


def test_placements_in_an_archive_are_taken_where_the_folder_has_none(tmp_path):
    archive(tmp_path / "export.zip", made_in_pnp__csv=PLACED, made_in_bom__csv=PARTS)
    package = read_package(tmp_path)
    assert len(package.placements) == 8
    assert package.bom is not None
    assert any("taken from the archive export.zip" in text for text in said(package))


def test_two_archives_with_placements_are_refused(tmp_path):
    archive(tmp_path / "a.zip", pnp__csv=PLACED)
    archive(tmp_path / "b.zip", pnp__csv=MOVED)
    with pytest.raises(InputError, match="more than one archive"):
        read_package(tmp_path)


@pytest.mark.parametrize("text", [MOVED, "Ref,X (mm),Y (mm),Rotation,Side\nR8,120,8,0,top\n"])
def test_placements_passed_over_that_differ_are_a_question(tmp_path, text):
    package = read_package(write(tmp_path, pnp__csv=PLACED, rev2_in_pnp__csv=text))
    assert is_asked(package)
    assert any("rev2 below the folder is not read" in line for line in said(package))


def test_placements_in_an_archive_passed_over_that_differ_are_a_question(tmp_path):
    archive(tmp_path / "rev2.zip", pnp__csv=MOVED)
    package = read_package(write(tmp_path, pnp__csv=PLACED))
    assert is_asked(package)
    assert any("rev2.zip" in line for line in said(package))


def test_copies_and_other_boards_passed_over_are_named_and_no_question(tmp_path):
    other = PLACED.replace("R", "C")
    package = read_package(write(tmp_path, pnp__csv=PLACED, a_in_copy__csv=PLACED, b_in_other__csv=other))
    assert not is_asked(package)
    first, second = (line for line in said(package) if "below the folder" in line)
    assert first == "a below the folder is not read"
    assert "b below the folder is not read, though it holds what looks like placements (other.csv)" in second


def asked(package):
    """Return what is asked about as not read, each with why."""
    found = [d.said.values for d in package.discrepancies if getattr(d.said, "key", "") == "find.may list parts"]
    return {values["file"]: values["what"] for values in found}


def test_an_archive_that_cannot_be_opened_is_a_finding(tmp_path):
    (tmp_path / "more.zip").write_bytes(b"PK\x03\x04 and no more")
    (tmp_path / "more.7z").write_bytes(b"7z\xbc\xaf\x27\x1c")
    (tmp_path / "more.rar").write_bytes(b"Rar!")
    assert asked(read_package(write(tmp_path, pnp__csv=PLACED))).keys() == {"more.zip", "more.7z", "more.rar"}


def test_a_list_that_is_damaged_is_a_finding_wherever_it_lies(tmp_path):
    """What is no list by its name is a note, where it lies among the lists."""
    write(
        tmp_path,
        pnp__csv=PLACED,
        rev2_in_gone__csv="",
        rev2_in_deep_in_torn__csv="a\0b",
        torn__csv="a\0b",
        t__bin="a\0b",
    )
    (tmp_path / "rev2" / "bad.xlsx").write_bytes(b"PK\x03\x04 and no more")
    archive(tmp_path / "more.zip", torn__csv="a\0b")
    found = asked(read_package(tmp_path))
    assert found.keys() == {"torn.csv", "rev2/gone.csv", "rev2/torn.csv", "rev2/bad.xlsx", "more.zip/torn.csv"}


def test_what_cannot_be_read_beside_lists_that_are_named_is_a_finding_too(tmp_path):
    """An archive, a deep folder and another list are nobody's question where the lists are named."""
    write(tmp_path, pnp__csv=PLACED, old__csv=MOVED, torn__csv="a\0b", t__bin="a\0b", torn_in_rev2__csv="a\0b")
    (tmp_path / "board.toml").write_text('placements = "pnp.csv"\n')
    (tmp_path / "gone.csv").symlink_to(tmp_path / "nowhere.csv")
    archive(tmp_path / "more.zip", pnp__csv=PLACED)
    assert asked(read_package(tmp_path)).keys() == {"torn.csv", "gone.csv"}


def with_link(path):
    entry = zipfile.ZipInfo("bom.csv")
    entry.external_attr = (stat.S_IFLNK | 0o777) << 16
    with zipfile.ZipFile(path, "a") as packed:
        packed.writestr(entry, "../bom.csv")


def test_what_an_archive_holds_and_is_not_unpacked_is_a_finding(tmp_path):
    inner = archive(tmp_path / "inner.zip", bom__csv=PARTS)
    archive(tmp_path / "more.zip", readme__txt="see the other", inner__zip="PK")
    with_link(tmp_path / "more.zip")
    inner.rename(write(tmp_path, pnp__csv=PLACED, old_in_a__txt="old") / "old" / "inner.zip")
    found = asked(read_package(tmp_path))
    assert found.keys() == {"more.zip/inner.zip", "more.zip", "old/inner.zip"}


def test_the_same_of_an_archive_that_holds_the_board(tmp_path):
    archive(tmp_path / "a.zip", pnp__csv=PLACED, inner__zip="PK")
    with_link(tmp_path / "a.zip")
    (tmp_path / "b.zip").write_bytes(b"PK\x03\x04 and no more")
    archive(tmp_path / "c.zip", bom__csv=PARTS)
    for number in range(4):
        archive(tmp_path / f"d{number}.zip", readme__txt="nothing")
    write(tmp_path, docs_in_bom__csv=PARTS)
    package = read_package(tmp_path)
    assert asked(package).keys() == {"a.zip/inner.zip", "a.zip", "b.zip", "d2.zip", "d3.zip"}
    lists = [d for d in package.decisions if d.open and d.topic == "BOM"]
    assert {getattr(d.evidence, "values", {}).get("file") for d in lists} == {"docs/bom.csv", "c.zip/bom.csv"}


def test_a_place_that_is_not_looked_into_is_a_finding(tmp_path, monkeypatch):
    board = write(tmp_path / "board", pnp__csv=PLACED, a_in_b_in_c_in_bom__csv=PARTS)
    (board / "bom.csv").symlink_to(tmp_path / "store" / "bom.csv")
    (board / "list.csv").symlink_to("nowhere.csv")
    (board / "rev2").symlink_to(write(tmp_path / "outside", pnp__csv=MOVED))
    (board / "closed").mkdir()
    os.mkfifo(board / "pipe")
    scan = os.scandir

    def closed(path):
        if str(path).endswith("closed"):
            raise PermissionError(13, "Permission denied")
        return scan(path)

    monkeypatch.setattr(os, "scandir", closed)
    found = asked(read_package(board))
    assert found.keys() == {"a/b/c", "bom.csv", "list.csv", "rev2", "closed", "pipe"}
    assert "Permission denied" in found["closed"]


def test_no_name_in_an_archive_leads_out_of_it(tmp_path):
    with zipfile.ZipFile(tmp_path / "x.zip", "w") as packed:
        packed.writestr("../../escaped.csv", PLACED)
        packed.writestr("/absolute.csv", PARTS)
    package = read_package(tmp_path)
    assert len(package.placements) == 8
    assert not list(tmp_path.parent.glob("**/escaped.csv"))


def test_an_archive_that_unpacks_to_too_much_is_refused(tmp_path):
    body = io.BytesIO()
    with zipfile.ZipFile(body, "w", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr("a.csv", b"0" * 30_000_000)
    (tmp_path / "big.zip").write_bytes(body.getvalue())
    with removed_at_the_end(), pytest.raises(InputError, match="30 MB"):
        unpack(tmp_path / "big.zip")


def test_a_link_below_that_leaves_the_folder_is_not_followed(tmp_path):
    outside = write(tmp_path / "outside", pnp__csv=MOVED)
    board = write(tmp_path / "board", pnp__csv=PLACED)
    (board / "rev2").symlink_to(outside)
    package = read_package(board)
    assert not is_asked(package)


def test_what_was_unpacked_is_gone_when_reading_ends(tmp_path, monkeypatch):
    """The program leaves without its last steps, so that nothing may wait for them."""
    (tmp_path / "made").mkdir()
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path / "made"))
    (tmp_path / "board").mkdir()
    archive(tmp_path / "board" / "export.zip", pnp__csv=PLACED)
    assert len(read_package(tmp_path / "board").placements) == 8
    assert list((tmp_path / "made").iterdir()) == []


OTHER = "Ref,X (mm),Y (mm),Rotation,Side\n" + "".join(f"R{i},{i * i % 11}.5,{i * 7 % 5},0,top\n" for i in range(1, 9))


@pytest.mark.parametrize("packed", [False, True])
@pytest.mark.parametrize(
    ("files", "several"),
    [
        ({"a_in_p__csv": PLACED, "b_in_p__csv": OTHER}, True),
        ({"a_in_p__csv": PLACED, "a_in_b__csv": PARTS, "b_in_p__csv": MOVED, "b_in_b__csv": PARTS}, True),
        ({"a_in_p__csv": PLACED, "b_in_p__csv": MOVED}, False),
        ({f"{n}_in_p__csv": PLACED.replace("R8,8.5", f"R8,{n}.5") for n in (1, 2, 3)}, True),
        ({"a_in_p__csv": PLACED + "C1,9,9,0,top\n", "b_in_p__csv": PLACED + "C2,9,8,0,top\n"}, True),
        ({"a_in_p__csv": PLACED, "b_in_p__csv": PLACED + "C2,9,8,0,top\n"}, False),
        ({f"{n}_in_p__csv": PLACED for n in (1, 2, 3)}, False),
        ({"a_in_p__csv": PLACED, "a_in_b__csv": PARTS, "b_in_p__csv": PLACED, "b_in_b__csv": PARTS}, False),
        ({"a_in_p__csv": PLACED, "b_in_p__csv": PLACED.replace("R", "C").replace("Cef", "Ref")}, False),
    ],
    ids=[
        "other places",
        "two packages",
        "one list moved",
        "three variants",
        "own parts",
        "one has more",
        "three copies",
        "a copy",
        "other parts",
    ],
)
def test_boards_that_lie_side_by_side_are_not_taken_for_one(tmp_path, packed, files, several):
    if packed:
        archive(tmp_path / "order.zip", **files)
    else:
        write(tmp_path, **files)
    if several:
        with pytest.raises(InputError, match="more than one board"):
            read_package(tmp_path)
    else:
        read_package(tmp_path)


NO_SIDE = "Ref,X (mm),Y (mm),Rotation\n"


@pytest.mark.parametrize("packed", [False, True])
def test_two_sides_in_folders_of_their_own_are_one_board(tmp_path, packed):
    """With a list of parts beside each they were taken for two boards, of which each passed without the other."""
    lists = {}
    for k, (folder, letter) in enumerate({"top": "R", "bottom": "C"}.items()):
        rows = [f"{letter}{i},{3 * i + k}.5,{7 * i % 5},0\n" for i in range(1, 9)]
        lists[f"{folder}_in_p__csv"] = NO_SIDE + "".join(rows) + "FID1,1,1,0\nFID2,9,9,0\n"
        lists[f"{folder}_in_b__csv"] = PARTS.replace("R", letter).replace(f"{letter}ef", "Ref")
    if packed:
        archive(tmp_path / "order.zip", **lists)
    else:
        write(tmp_path, **lists)
    placed = read_package(tmp_path).placements
    sides = {ref: Side(int(side)) for ref, side in zip(placed.ref, placed.side, strict=True)}
    assert (sides["R1"], sides["C1"]) == (Side.TOP, Side.BOTTOM)


def test_two_boards_in_folders_named_for_sides_stay_two(tmp_path):
    """The same references at other places are of another board, whatever its folder is called."""
    write(tmp_path, top_in_p__csv=PLACED, bottom_in_p__csv=OTHER)
    with pytest.raises(InputError, match="more than one board"):
        read_package(tmp_path)


@pytest.mark.parametrize("packed", [False, True])
def test_a_board_below_that_has_a_board_file_is_not_read_without_it(tmp_path, packed):
    """What that file states counts for its own folder: taken from above, a part not fitted would be placed."""
    files = {"a_in_p__csv": PLACED, "a_in_board__toml": 'not_fitted = ["R1"]\n', "a_in_read me__txt": "hello"}
    if packed:
        archive(tmp_path / "order.zip", **files)
    else:
        write(tmp_path, **files)
    with pytest.raises(InputError, match=r"(?s)its board lies below it.*name the one that is meant"):
        read_package(tmp_path)


@pytest.mark.parametrize(
    ("text", "several"),
    [(OTHER, True), (PLACED.replace("R", "C").replace("Cef", "Ref"), True), (PLACED, False), (MOVED, False)],
    ids=["other places", "other parts", "a copy", "one part moved"],
)
def test_a_board_in_an_archive_beside_one_in_a_folder_is_not_passed_over(tmp_path, text, several):
    """A quote of a folder and an archive was read as the one in the folder, and the other was named nowhere."""
    write(tmp_path, a_in_p__csv=PLACED)
    archive(tmp_path / "b.zip", b_in_p__csv=text)
    if several:
        with pytest.raises(InputError, match=r"more than one board.*a, b\.zip"):
            read_package(tmp_path)
    else:
        assert any("b.zip below the folder is not read" in one for one in said(read_package(tmp_path)))


def asked_list(package):
    return [d for d in package.decisions if d.open and d.topic == "BOM"]


@pytest.mark.parametrize("text", [PARTS.replace("PN-1", "PN-2"), PARTS.replace("8,R1-R8", "7,R1-R7")])
def test_a_list_of_parts_passed_over_that_differs_is_a_question(tmp_path, text):
    archive(tmp_path / "more.zip", list__csv=text)
    (found,) = asked_list(read_package(write(tmp_path, pnp__csv=PLACED, bom__csv=PARTS)))
    assert "more.zip" in sentence(found.evidence)


def test_a_list_of_parts_passed_over_where_there_is_no_other_is_a_question(tmp_path):
    archive(tmp_path / "more.zip", list__csv=PARTS)
    assert asked_list(read_package(write(tmp_path, pnp__csv=PLACED)))


@pytest.mark.parametrize("text", [PARTS, PARTS + "\n", PARTS.replace("R1-R8", "C1-C8").replace("PN-1", "PN-7")])
def test_a_copy_of_the_list_and_that_of_another_board_is_no_question(tmp_path, text):
    archive(tmp_path / "more.zip", list__csv=text)
    assert not asked_list(read_package(write(tmp_path, pnp__csv=PLACED, bom__csv=PARTS)))


def test_a_list_that_the_board_file_names_settles_which_one_holds(tmp_path):
    archive(tmp_path / "more.zip", list__csv=PARTS.replace("PN-1", "PN-2"))
    board = write(tmp_path, pnp__csv=PLACED, bom__csv=PARTS, board__toml='bom = "bom.csv"\n')
    assert not asked_list(read_package(board))


@pytest.mark.rows("cell, other", [("5,0,top", "5,180,top"), ("5,0,top", "5,0,bottom")])
def test_a_copy_below_that_turns_a_part_otherwise_or_has_it_on_the_other_side_is_asked_about(tmp_path, cell, other):
    write(tmp_path, pnp__csv=PLACED, old_in_pnp__csv=PLACED.replace(cell, other))
    package = read_package(tmp_path)
    assert is_asked(package)
    assert any(
        "old/pnp.csv is passed over, and says otherwise of R5" in sentence(d.evidence) for d in package.decisions
    )


@pytest.mark.rows("cell, other", [(",0,top", ",360.0,top"), (",0,top", ",0,T"), (",0,", ",90,")])
def test_a_copy_below_that_writes_all_of_it_otherwise_is_none(tmp_path, cell, other):
    write(tmp_path, pnp__csv=PLACED, old_in_pnp__csv=PLACED.replace(cell, other))
    assert not is_asked(read_package(tmp_path))
