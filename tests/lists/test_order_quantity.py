"""Order quantities: the loss by size, the strip without leader, reels, and what the shop states itself.

Figures: quantities and shares are invented, or those of lists/data/losses.toml, common practice, no source.
"""

import pytest

from capcheck import InputError, read_board, read_configuration
from capcheck.lists import losses_in_force, order_list
from capcheck.lists.order_quantity import classes_of
from capcheck.lists.tables import LossClass, losses
from capcheck.model import Basis, Body, Measure
from capcheck.shop import Configuration
from capcheck.values import Interval

HEADER = "Ref,X [mm],Y [mm],Rotation,Side,Value,Footprint"
BOM = ["Part number,Quantity,References,Value,Length [mm],Width [mm]"]


def rows(listed):
    return {row.cells[0]: dict(zip(listed.columns, row.cells, strict=True)) for row in listed.rows}


def body(low, high):
    return Body(length=Measure(Interval(low, high), Basis.STATED, "a list"))


def names(*bodies):
    return [row.name for row in classes_of(bodies, losses().classes)]


def test_a_size_on_the_limit_is_of_the_class_and_one_step_past_it_of_the_next():
    # lists/data/losses.toml: up to 4 mm, up to 12 mm; invented.
    assert names(body(4, 4)) == ["up to 4 mm"]
    assert names(body(4.001, 4.001)) == ["up to 12 mm"]
    assert names(body(3, 5)) == ["up to 4 mm", "up to 12 mm"]
    assert names(body(0, float("inf"))) == []
    assert names(body(3, 4), body(100, 100)) == ["up to 4 mm", "larger"]


def test_a_share_counts_where_it_is_more_than_the_least_number(make_board):
    # Arithmetic: 2 parts a board, 1 % of 2000 is 20, more than 10; of 200 it is 2, less than 10.
    bom = [*BOM, 'W-1,2,"R1,R2",x,3,2']
    read = read_board(make_board(["R1,1,1,0,top,x,y", "R2,5,5,0,top,x,y"], bom=bom))
    for boards, lost in ((1000, 20), (100, 10)):
        row = rows(order_list(read, boards))["W-1"]
        assert (row["needed"], row["lost"], row["to order"]) == (2 * boards, lost, 2 * boards + lost)


def test_reels_are_whole_and_what_is_left_over_is_told(make_board):
    # Arithmetic: 100 needed and 10 lost are 110: three reels of 40, ten left over.
    read = read_board(make_board(["R1,1,1,0,top,x,y"], bom=[*BOM, "W-1,1,R1,x,3,2"]))
    row = rows(order_list(read, 100, per_reel={"W-1": 40}))["W-1"]
    assert (row["per reel"], row["reels"], row["left over"]) == (40, 3, 10)
    listed = order_list(read, 100, per_reel={"W-9": 40})
    assert rows(listed)["W-1"]["reels"] is None
    assert ["W-9"] in [note.values.get("names") for note in listed.notes]


def test_a_size_that_nobody_knows_leaves_the_loss_open_and_the_need_told(make_board):
    row = rows(order_list(read_board(make_board(["U1,1,1,0,top,OWN,FORM"])), 50))["OWN FORM"]
    assert (row["needed"], row["lost"], row["to order"]) == (50, None, None)


def test_parts_of_which_nothing_is_said_are_not_one_part(make_board):
    rows_ = [
        "J1,1,1,0,top,unknown,",
        "J2,9,9,0,top,unknown,",
        "R1,5,1,0,top,10k,",
        "R2,5,9,0,top,10k,",
        "C1,5,5,0,top,10k,",
    ]
    found = rows(order_list(read_board(make_board(rows_)), 10))
    assert {name: row["needed"] for name, row in found.items()} == {
        "unnamed (J1)": 10,
        "unnamed (J2)": 10,
        "10k (R)": 20,
        "10k (C)": 10,
    }


def test_a_word_for_no_number_is_no_part_number(make_board):
    bom = ["Part number,References", "n.a.,J1", "n.a.,J2"]
    found = rows(order_list(read_board(make_board(["J1,1,1,0,top,x,y", "J2,9,9,0,top,z,w"], bom=bom)), 10))
    assert {row["needed"] for row in found.values()} == {10}


def test_what_the_bom_has_beside_the_placements_of_one_number_is_bought_with_it(make_board):
    bom = [*BOM, 'W-1,3,"R1,R8,R9",x,3,2', "W-1,1,R7,x,3,2"]
    (row,) = rows(order_list(read_board(make_board(["R1,1,1,0,top,x,y"], bom=bom)), 100)).values()
    # Arithmetic: four of each board.
    assert (row["part number"], row["per board"], row["needed"], row["lost"]) == ("W-1", 4, 400, 10)


def test_what_is_left_off_though_the_bom_has_it_is_told(make_board):
    bom = [*BOM, 'W-1,2,"R1,R2",x,3,2']
    board = make_board(["R1,1,1,0,top,x,y", "R2,5,5,0,top,x,y"], bom=bom, toml='not_fitted = ["R2"]\n')
    listed = order_list(read_board(board))
    assert [said.values["refs"] for said in listed.totals if said.key == "lists.left off"] == [["R2"]]


def test_copper_is_not_bought(make_board):
    (row,) = rows(order_list(read_board(make_board(["AE1,1,1,0,top,pcb antenna,x"])), 10)).values()
    assert (row["per board"], row["needed"], row["to order"]) == (1, 0, 0)


def test_what_the_bom_alone_has_is_ordered_too(make_board):
    bom = [*BOM, "W-1,1,R1,x,3,2", "W-2,1,R9,x,3,2", "W-3,4,,label,,"]
    found = rows(order_list(read_board(make_board(["R1,1,1,0,top,x,y"], bom=bom)), 10))
    assert found["W-2"]["needed"] == 10
    assert found["W-3"]["needed"] == 40


def test_circuits_of_a_panel_are_boards_and_panels_are_whole(make_board):
    # Arithmetic: 10 boards on panels of 4 are 3 panels, 12 boards, 24 parts.
    toml = 'length = "50 mm"\nwidth = "40 mm"\n[panel]\ncolumns = 2\nrows = 2\npitch_x = "60 mm"\npitch_y = "50 mm"\n'
    bom = [*BOM, 'W-1,2,"R1,R2",x,3,2']
    read = read_board(make_board(["R1,1,1,0,top,x,y", "R2,5,5,0,top,x,y"], bom=bom, toml=toml))
    listed = order_list(read, 10)
    assert (rows(listed)["W-1"]["per board"], rows(listed)["W-1"]["needed"]) == (2, 24)
    assert [said.values["panels"] for said in listed.totals if "panels" in said.values] == [3]


def test_a_strip_needs_a_leader_by_its_pitch(make_board):
    # The tape of a chip of 1.6 × 0.8 mm has a pitch of 4 mm (tape_choice.csv); 150 and 400 mm are of losses.toml.
    read = read_board(make_board(["R1,1,1,0,top,10k,RESC1608X55"]))
    (row,) = rows(order_list(read, 10)).values()
    assert row["more if cut tape"] == Interval(38, 100)


def test_the_shop_states_its_own_losses_and_a_slip_is_told(tmp_path):
    file = tmp_path / "capcheck.toml"
    file.write_text('[losses]\n"up to 4 mm" = { share = 0.5 }\n')
    changed = {row.name: row for row in losses_in_force(read_configuration(file)).classes}
    assert (changed["up to 4 mm"].share, changed["up to 4 mm"].least) == (0.5, 10)
    assert "capcheck.toml:2" in changed["up to 4 mm"].source
    assert changed["larger"] == next(row for row in losses().classes if row.name == "larger")
    file.write_text('[losses]\n"upto 4 mm" = { share = 0.5 }\n')
    with pytest.raises(InputError, match="up to 4 mm"):
        losses_in_force(read_configuration(file))
    assert losses_in_force(Configuration()) == losses()


def test_each_class_says_what_it_stands_on_and_they_grow():
    sizes = [row.up_to_mm for row in losses().classes if not row.by_hand]
    assert sizes == sorted(set(sizes))
    assert sizes[-1] == float("inf")
    assert sum(row.by_hand for row in losses().classes) == 1
    assert all(isinstance(row, LossClass) and row.source for row in losses().classes)


def test_lines_that_share_a_sign_for_no_part_number_are_ordered_each_for_itself(make_board):
    bom = [*BOM, "W-1,1,R1,x,3,2", "?,1,R2,10k,3,2", "?,1,S1,10k,3,2", "?,1,S2,22k,3,2"]
    listed = rows(order_list(read_board(make_board(["R1,1,1,0,top,x,y", "R2,5,5,0,top,10k,y"], bom=bom)), 10))
    assert "?" not in listed
    assert sum(row["needed"] for row in listed.values()) == 40
    assert len(listed) == 4


# Two parts a board: of 2,000 in a thousand 3 are 6, of 1,000 also 3, none at all is 0; by its size 1 %, at least 10.
@pytest.mark.rows(("share", "boards", "lost"), [("3", 1000, 6), ("3", 167, 2), ("0", 1000, 0), ("", 1000, 20)])
def test_what_is_stated_of_a_part_number_counts_in_place_of_its_size(make_board, tmp_path, share, boards, lost):
    table = tmp_path / "packings.csv"
    table.write_text(f"part number,nozzle,lost per thousand\nW-1,small,{share}\n")
    bom = [*BOM, 'W-1,2,"R1,R2",x,3,2']
    folder = make_board(["R1,1,1,0,top,x,y", "R2,5,5,0,top,x,y"], bom=bom)
    listed = order_list(read_board(folder, libraries=[table]), boards)
    row = rows(listed)["W-1"]
    assert (row["lost"], row["to order"]) == (lost, 2 * boards + lost)
    assert (listed.rows[0].source.key == "lists.own loss") == bool(share)
