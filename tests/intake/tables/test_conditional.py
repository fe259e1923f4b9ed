"""A text that makes the part of its row an option is asked about; ordinary descriptions are not.

Boards and texts are invented.

Figures: invented, or the digits of the text.
"""

import pytest

from capcheck import read_board
from capcheck.model import Topic

PLACED = "Ref,X (mm),Y (mm),Rot,Side,Package,Value\n"


@pytest.fixture
def asked(tmp_path):
    def refs(title, text, *, placed=""):
        rows = "".join(f"R{k},{10 * k},20,0,top,0603,{placed if k == 2 and placed else '10k'}\n" for k in (1, 2, 3))
        (tmp_path / "placements.csv").write_text(PLACED + rows, encoding="utf-8")
        lines = "".join(f'R{k},1,{k}0k,PN-{k},"{text if k == 2 else ""}"\n' for k in (1, 2, 3))
        (tmp_path / "bom.csv").write_text(f"Reference,Qty,Value,Part number,{title}\n{lines}", encoding="utf-8")
        found = read_board(tmp_path).discrepancies
        return {ref for d in found if d.topic in {Topic.ROW_IN_QUESTION, Topic.BY_HAND} for ref in d.refs}

    return refs


@pytest.mark.rows("title", ["Description", "Comment", "Remarks"])
@pytest.mark.rows(
    "text",
    [
        "option B only",
        "resistor, option B only",
        "resistor only for variant 2",
        "variant A and B only",
        "fit later",
        "resistor entfällt",
        "~~deleted~~",
        "~~resistor 10k~~",
        "if needed",
        "resistor (optional)",
        "resistor, deleted",
        "Widerstand, nur Variante B",
        "bei Bedarf",
        "seulement variante 2",
        "si nécessaire",
        "solo variante B",
        "se necessario",
        "必要に応じて",
        "オプションのみ",
        "仅版本B",
        "如需要",
    ],
)
def test_a_text_that_makes_a_part_an_option_is_asked_about(asked, title, text):
    assert asked(title, text) == {"R2"}


@pytest.mark.parametrize("text", ["to be confirmed", "unklar", "tbc", "?"])
def test_a_remark_that_something_is_not_certain_is_asked_about(asked, text):
    assert asked("Comment", text) == {"R2"}


@pytest.mark.parametrize(
    "text",
    [
        "resistor 10k 1 %",
        "Thick film resistor, high power version",
        "Model for indoor use",
        "RES SMD 10K OHM 1% 1/10W 0603",
        "Assembly level 2",
        "Polyester only",
        "coil, third winding (tertiary) removed",
        "Widerstand 10k, Ausführung A",
    ],
)
def test_an_ordinary_description_is_no_question(asked, text):
    assert asked("Description", text) == set()


def test_a_word_in_the_placements_is_asked_about_too(asked):
    assert asked("Description", "", placed="10k (only variant B)") == {"R2"}


@pytest.mark.parametrize(
    "text", ["not for reflow", "max 85 °C", "max. 120°C", "hitzeempfindlich", "リフロー不可", "不可过炉"]
)
def test_a_part_that_no_oven_takes_is_asked_about(asked, text):
    assert asked("Comment", text) == {"R2"}


@pytest.mark.parametrize("text", ["max 260 °C", "capacitor 100n, max 85 °C"])
def test_another_temperature_is_no_question(asked, text):
    assert asked("Comment", text) == set()


@pytest.mark.parametrize(
    ("title", "text"),
    [
        ("Package", "0603?"),
        ("Package", "0603 tbd"),
        ("Package", "0603 DNP"),
        ("Description", "resistor (NF)"),
        ("Description", "resistor/NM"),
    ],
)
def test_a_package_in_doubt_or_not_fitted_behind_a_sign_is_asked_about(asked, title, text):
    assert asked(title, text) == {"R2"}


@pytest.mark.parametrize("text", ["capacitor 100 nF", "capacitor, 10 nF", "0603 100 nm", "0603/100nF", "not DNP"])
def test_a_unit_and_a_denial_are_not_taken_for_not_fitted(asked, text):
    assert asked("Description", text) == set()


def columns_left_out(folder, title, cells):
    """Return what is asked of a list with *cells* below a further *title*, beside its rows."""
    places = "".join(f"R{k},{10 * k},20,0,top,0603,10k\n" for k in range(1, 5))
    (folder / "placements.csv").write_text(PLACED + places, encoding="utf-8")
    lines = "".join(f"R{k},1,10k,PN-{k},{cell}\n" for k, cell in enumerate(cells, 1))
    (folder / "bom.csv").write_text(f"Reference,Qty,Value,Part number,{title}\n{lines}", encoding="utf-8")
    return [d for d in read_board(folder).discrepancies if d.topic is Topic.LEFT_OUT]


@pytest.mark.parametrize("text", ["use PN-99", "with socket", "place upside down", "rotate 90"])
def test_remarks_on_most_rows_are_one_question(tmp_path, text):
    (found,) = columns_left_out(tmp_path, "Remarks", ["rack 4", "rack 5", text, "rack 4"])
    assert text in found.said.values["texts"]


def test_remarks_that_only_say_which_part_it_is_are_no_question(tmp_path):
    assert columns_left_out(tmp_path, "Remarks", ["RoHS", "X7R", "RoHS", "thick film"]) == []


@pytest.mark.parametrize("text", ["use PN-99", "with socket", "place upside down"])
def test_a_remark_on_one_row_is_asked_about_in_either_list(asked, tmp_path, text):
    assert asked("Remarks", text) == {"R2"}
    titled, *rows = (tmp_path / "placements.csv").read_text(encoding="utf-8").splitlines()
    told = "\n".join([f"{titled},Remarks", *(f"{row},{text if row.startswith('R2') else ''}" for row in rows)])
    (tmp_path / "placements.csv").write_text(told, encoding="utf-8")
    (tmp_path / "bom.csv").unlink()
    found = read_board(tmp_path).discrepancies
    assert {ref for d in found if d.topic is Topic.ROW_IN_QUESTION for ref in d.refs} == {"R2"}
