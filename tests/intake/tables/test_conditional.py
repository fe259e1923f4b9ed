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
