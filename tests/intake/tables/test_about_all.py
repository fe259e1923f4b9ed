"""Lines beside a list that speak of all parts of a sort, of the list itself or of a panel are asked about.

Figures: boards and parts are invented; sizes of chips are the names themselves.
"""

import pytest

from capcheck.intake.read import read_package
from capcheck.intake.tables import speaks_of_all, speaks_of_panel
from capcheck.lexicon import sentence

OF_PANELS = [
    "Panel: 2 x 3 boards",
    "Panelized 3 x 2, V-score, rails 7 mm",
    "Panel size 210 x 180 mm",
    "Please build as 2-up panel",
    "4 boards per panel",
    "The PCBs come in panels of eight",
    "1 panel = 4 pcs",
    "Lieferung im Nutzen, 4-fach",
    "Panneau de 4 circuits",
    "Panel de 4 circuitos",
    "Quadrotto da 4 schede",
    "拼板方式：2×3，V-CUT",
    "4面付け",
]
OF_ALL = [
    "All resistors are 1206",
    "all resistors are through hole",
    "All components are 4 mm tall",
    "Alle Widerstände in Bauform 1206",
    "Toutes les résistances sont en 1206",
    "Todas las resistencias son 1206",
    "Tutte le resistenze 1206",
    "所有电阻均为1206",
    "抵抗はすべて1206",
    "No resistors to be fitted in this variant",
    "Bottom side not assembled",
    "all parts on bottom side",
    "Heights are wrong, see data sheets",
    "Part numbers to be confirmed",
    "Resistor package TBD",
]
ORDINARY = [
    "Front panel connector, 4 pcs",
    "not panelized",
    "Panel: no",
    "Panelization: none",
    "Total components: 45",
    "Components on top: 12",
    "Part number: TBD",
    "Parts list rev B",
    "Component list, top side",
    "Resistors",
    "Approved by: TBD",
    "Gerber files: 4 layers.",
    "The board has a touch panel of 100 x 60 mm",
]


@pytest.mark.rows("line", OF_PANELS)
def test_a_line_that_speaks_of_a_panel(line):
    assert speaks_of_panel(line)


@pytest.mark.rows("line", OF_ALL)
def test_a_line_that_speaks_of_all(line):
    assert speaks_of_all(line)


@pytest.mark.rows("line", ORDINARY)
def test_an_ordinary_line(line):
    assert not speaks_of_all(line)
    assert not speaks_of_panel(line)


@pytest.fixture
def asked(tmp_path):
    def read(stated="", **texts):
        rows = [f"R{n},10k,0603,{10 * n},{n},0,top" for n in range(1, 9)]
        (tmp_path / "places.csv").write_text("\n".join(["Ref,Value,Footprint,X (mm),Y (mm),Rotation,Side", *rows]))
        (tmp_path / "board.toml").write_text(stated)
        for name, text in texts.items():
            (tmp_path / f"{name}.txt").write_text(text, encoding="utf-8")
        return [sentence(d.said) for d in read_package(tmp_path).discrepancies]

    return read


NAMED = 'placements = "places.csv"\n'


@pytest.mark.parametrize("stated", ["", NAMED])
@pytest.mark.parametrize("line", ["All resistors are 1206", "Panel: 2 x 3 boards", "Please do not fit R7."])
def test_a_text_beside_the_lists_is_asked_about_also_where_board_toml_names_them(asked, stated, line):
    assert any(line in text for text in asked(stated, notes=f"Order\n{line}\nThank you\n"))


def test_a_panel_that_board_toml_states_is_not_asked_about(asked):
    size = 'length = "100 mm"\nwidth = "50 mm"\n'
    panel = f'{NAMED}{size}[panel]\ncolumns = 2\nrows = 3\npitch_x = "110 mm"\npitch_y = "60 mm"\n'
    assert not any("Panel" in text for text in asked(panel, notes="Panel: 2 x 3 boards\n"))


def test_lists_and_ordinary_texts_that_board_toml_does_not_name_are_no_question(asked):
    rows = "\n".join(f"R{n}  10  {n}" for n in range(1, 9))
    assert asked(NAMED) == asked(NAMED, other=f"Ref X Y\n{rows}\n", readme="Gerber files: 4 layers.\nThank you.\n")


def test_a_link_that_leaves_the_folder_is_not_read(asked, tmp_path, tmp_path_factory):
    outside = tmp_path_factory.mktemp("outside") / "text"
    outside.write_text("All resistors are 1206\n")
    (tmp_path / "linked.txt").symlink_to(outside)
    assert not any("1206" in text for text in asked(NAMED))
