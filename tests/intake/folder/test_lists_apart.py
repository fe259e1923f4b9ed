"""Placement lists side by side in a folder: of several boards, each with its own files, or of one.

Figures: invented.
"""

import pytest

from capcheck.intake import SeveralBoardsError, holds_placements
from capcheck.intake.read import read_package
from capcheck.lexicon import sentence
from capcheck.values import InputError

HEADER = "Ref,X (mm),Y (mm),Rotation,Side\n"
COUNT = 12


def rows(seed, letters="R", side="top", first=1):
    """Places that have nothing in common with those of another seed."""
    return "".join(
        f"{letters}{first + i},{5 + (i * i * 7 + i * (seed * 11 + 3)) % (29 + seed)},"
        f"{3 + (i * (seed + 2) * 5) % (23 - seed)},0,{side}\n"
        for i in range(COUNT)
    )


def placed(seed, **how):
    return HEADER + rows(seed, **how)


def parts(letters="R", first=1, number="PN-1"):
    return f"Quantity,Reference,Value,Part number\n{COUNT},{letters}{first}-{letters}{first + COUNT - 1},10k,{number}\n"


def drawn(size):
    corners = [(0, 0), (size, 0), (size, size), (0, size), (0, 0)]
    way = "".join(f"X{x * 1000000}Y{y * 1000000}D0{1 if k else 2}*\n" for k, (x, y) in enumerate(corners))
    return f"%FSLAX46Y46*%\n%MOMM*%\n%TF.FileFunction,Profile,NP*%\n%ADD10C,0.1*%\nD10*\n{way}M02*\n"


def write(folder, **files):
    for name, text in files.items():
        (folder / name.replace("__", ".")).write_text(text, encoding="utf-8")
    return folder


def boards_of(folder):
    with pytest.raises(SeveralBoardsError, match="more than one board") as caught:
        read_package(folder)
    return caught.value.boards


def notes(package):
    return " ".join(sentence(note.said) for note in package.notes)


def files_of(package):
    return sorted(file.path.rpartition("/")[2] for file in package.inputs)


def test_lists_of_the_same_references_at_other_places_are_a_board_each(tmp_path):
    """Three boards in a folder were one with a question, and two of them were checked nowhere."""
    write(tmp_path, north__csv=placed(1), south__csv=placed(2), west__csv=placed(3))
    assert [file.name for file in boards_of(tmp_path)] == ["north.csv", "south.csv", "west.csv"]
    package = read_package(tmp_path / "south.csv")
    assert package.name == "south"
    assert files_of(package) == ["south.csv"]
    assert "the others: north.csv, west.csv" in notes(package)


def test_each_goes_with_the_list_of_parts_and_the_outline_of_its_name(tmp_path):
    files = {f"board{k}__csv": placed(k) for k in (1, 2, 10)}
    files |= {f"board{k}_bom__csv": parts(number=f"PN-{k}") for k in (1, 2, 10)}
    files |= {f"Board{k}Outline__gbr": drawn(40 + k) for k in (1, 2, 10)}
    write(tmp_path, **files)
    assert len(boards_of(tmp_path)) == 3
    for k in (1, 2, 10):
        package = read_package(tmp_path / f"board{k}.csv")
        assert files_of(package) == sorted([f"board{k}.csv", f"board{k}_bom.csv", f"Board{k}Outline.gbr"])
        assert {line.part_number for line in package.bom} == {f"PN-{k}"}
        assert not any(decision.open and decision.topic in {"BOM", "outline"} for decision in package.decisions)


def test_lists_that_share_some_references_are_boards_where_each_has_its_own_list_of_parts(tmp_path):
    files = {"one__csv": placed(1), "two__csv": placed(2, first=9) + rows(3, "C")}
    read_package(write(tmp_path, **files))
    write(tmp_path, one_bom__csv=parts(), two_bom__csv=parts("R", 9) + f"{COUNT},C1-C{COUNT},1u,PN-C\n")
    assert [file.name for file in boards_of(tmp_path)] == ["one.csv", "two.csv"]


def test_lists_without_common_references_that_have_lists_of_parts_each_are_asked_about(tmp_path):
    """Parts for the machine and for the hand in lists of their own would be half a board each."""
    write(tmp_path, one__csv=placed(1), two__csv=placed(2, letters="C"))
    assert not any(decision.open and decision.topic == "placements" for decision in read_package(tmp_path).decisions)
    package = read_package(write(tmp_path, one_bom__csv=parts(), two_bom__csv=parts("C")))
    assert len(package.placements) == 2 * COUNT
    (asked,) = (decision for decision in package.decisions if decision.topic == "placements")
    assert asked.open
    assert sentence(asked.runner_up) == "a board each"


def test_lists_of_parts_with_names_of_their_own_are_told_by_their_references(tmp_path):
    write(
        tmp_path,
        x__csv=placed(1),
        y__csv=placed(2) + rows(2, "C"),
        first__csv=parts(number="PN-X"),
        second__csv=parts(number="PN-Y") + f"{COUNT},C1-C{COUNT},1u,PN-C\n",
    )
    assert files_of(read_package(tmp_path / "x.csv")) == ["first.csv", "x.csv"]
    assert files_of(read_package(tmp_path / "y.csv")) == ["second.csv", "y.csv"]


def test_what_may_belong_to_each_is_taken_for_each_and_asked_about(tmp_path):
    write(tmp_path, north__csv=placed(1), south__csv=placed(2), parts__csv=parts(), edge__gbr=drawn(60))
    for name in ("north", "south"):
        package = read_package(tmp_path / f"{name}.csv")
        assert files_of(package) == sorted(["edge.gbr", f"{name}.csv", "parts.csv"])
        asked = {decision.topic for decision in package.decisions if decision.open}
        assert {"BOM", "outline"} <= asked


def test_layers_of_which_nothing_says_whose_they_are_are_named_and_not_read(tmp_path):
    copper = drawn(20).replace("Profile,NP", "Copper,L1,Top")
    write(tmp_path, north__csv=placed(1), south__csv=placed(2), copper__gbr=copper)
    assert "nothing says to which of the boards in this folder they belong: copper.gbr" in notes(
        read_package(tmp_path / "north.csv")
    )


def test_the_two_sides_of_each_board_stay_together(tmp_path):
    files = {f"b{k}_top__csv": placed(k) for k in (1, 2)}
    files |= {f"b{k}_bottom__csv": placed(k + 4, letters="C", side="bottom") for k in (1, 2)}
    write(tmp_path, **files)
    assert [file.name for file in boards_of(tmp_path)] == ["b1_bottom.csv", "b2_bottom.csv"]
    assert len(read_package(tmp_path / "b2_bottom.csv").placements) == 2 * COUNT


@pytest.mark.parametrize(
    "files",
    [
        {"top__csv": placed(1), "bottom__csv": placed(2, letters="C", side="bottom")},
        {
            "p_top__csv": placed(1),
            "p_top_bom__csv": parts(),
            "p_bottom__csv": placed(2, letters="C", side="bottom"),
            "p_bottom_bom__csv": parts("C"),
        },
        {"a__csv": placed(1), "b__csv": placed(1)},
        {"a__csv": placed(1), "b__csv": placed(1).replace("R1,5,3,", "R1,31,17,")},
        {"p_rev_A__csv": placed(1), "p_rev_B__csv": placed(2)},
        {f"p_v{k}__csv": placed(k) for k in (1, 2)} | {f"p_v{k}_bom__csv": parts(number=f"PN-{k}") for k in (1, 2)},
        {"north__csv": placed(1), "south__csv": placed(2), "lost__csv": placed(3, letters="C")},
        {"north__csv": placed(1), "south__csv": placed(2), "board__toml": ""},
    ],
    ids=[
        "sides",
        "sides with lists",
        "a copy",
        "a part moved",
        "revisions",
        "revisions with lists",
        "whose is the third",
        "a board file",
    ],
)
def test_what_may_be_one_board_stays_one(tmp_path, files):
    write(tmp_path, **files)
    assert len(read_package(tmp_path).placements) >= COUNT


@pytest.mark.parametrize(
    "files",
    [
        {"p_rev_A__csv": placed(1), "p_rev_B__csv": placed(2)},
        {"a__csv": placed(1), "b__csv": placed(1).replace("R1,5,3,", "R1,31,17,")},
        {"north__csv": placed(1), "south__csv": placed(2), "lost__csv": placed(3, letters="C")},
    ],
    ids=["revisions", "a part moved", "whose is the third"],
)
def test_of_two_readings_that_remain_the_choice_is_a_question(tmp_path, files):
    package = read_package(write(tmp_path, **files))
    assert any(decision.open and decision.topic == "placements" for decision in package.decisions)


def test_a_list_of_one_board_is_no_path_of_its_own(tmp_path):
    write(tmp_path, a__csv=placed(1))
    with pytest.raises(InputError, match="--placements"):
        read_package(tmp_path / "a.csv")


def test_a_folder_of_several_boards_is_a_customers(tmp_path):
    assert holds_placements(write(tmp_path, north__csv=placed(1), south__csv=placed(2)))
