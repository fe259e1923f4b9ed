"""Facts that a shop writes in Python.

Figures: boards, parts and machines are invented; limits are those of rules/*.toml, each with its basis.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest

from capcheck import FACTS, check
from capcheck.cli import main
from capcheck.facts.python_files import shop_catalogue
from capcheck.values.errors import InputError

if TYPE_CHECKING:
    from pathlib import Path

MODULE = """
from capcheck import Catalogue, Numbers
from capcheck.values.units import LENGTH

facts = Catalogue()


@facts.number("part.headroom", LENGTH, "room between the part and the cover at 20 mm")
def headroom(part_height):
    return Numbers(20 - part_height.high, 20 - part_height.low, part_height.source)
"""
RULE = """
[[rule]]
id = "room-under-cover"
title = "There is room under the cover"
subject = "part"
require = "part.headroom >= '1 mm'"
message = "{part.ref}"
why = "a"
remedy = "b"
basis = "c"
"""


@pytest.fixture
def module(tmp_path: Path) -> Path:
    path = tmp_path / "shop_facts.py"
    path.write_text(MODULE)
    return path


def test_a_shop_fact_joins_a_copy_of_the_catalogue(module: Path) -> None:
    catalogue = shop_catalogue([module])
    assert catalogue["part.headroom"].help == "room between the part and the cover at 20 mm"
    assert "part.headroom" not in FACTS
    assert len(catalogue) == len(FACTS) + 1


def test_rules_ask_for_it_through_the_configuration(
    module: Path, make_board: Any, capsys: pytest.CaptureFixture[str]
) -> None:
    (module.parent / "shop-rules").mkdir()
    (module.parent / "shop-rules" / "cover.toml").write_text(RULE)
    config = module.parent / "capcheck.toml"
    config.write_text('facts = ["shop_facts.py"]\nrules = ["shop-rules"]\nselect = ["room-under-cover"]\n')
    board = make_board(["R1,1,1,0,top,10k,R0402"], toml='size_codes = "inch"\n')  # reference/size_codes.csv
    report = check(board, config=config)
    assert report.totals.passed == 1
    assert report.session.calls["part.headroom"] == 1
    assert ("facts", str(module)) in [(f.role, f.path) for f in report.inputs]
    assert main(["explain", "part.headroom", "--config", str(config)]) == 0
    assert "length in mm" in capsys.readouterr().out
    assert main(["facts", "--config", str(config)]) == 0
    assert "part.headroom" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('"part.headroom"', '"part.height"', 'two facts named "part.height"'),
        ("headroom(part_height)", "headroom(part_hight)", 'asks for "part_hight".*did you mean "part.height"'),
        ("facts = Catalogue()", "facts = 1 / 0", "ZeroDivisionError"),
        ("facts = Catalogue()", "facts = (", "SyntaxError"),
    ],
)
def test_faults_of_the_file_are_told_at_their_line(module: Path, old: str, new: str, said: str) -> None:
    module.write_text(MODULE.replace(old, new))
    with pytest.raises(InputError, match=said) as caught:
        shop_catalogue([module])
    assert str(caught.value).startswith(f"{module}:")


def test_a_file_without_facts_and_a_missing_one_are_told_together(tmp_path: Path) -> None:
    (tmp_path / "a.py").write_text("x = 1\n")
    with pytest.raises(InputError) as caught:
        shop_catalogue([tmp_path / "a.py", tmp_path / "b.py"])
    assert len(caught.value.problems) == 2


def test_a_provider_that_raises_breaks_its_rules_alone(module: Path, make_board: Any) -> None:
    module.write_text(MODULE.replace("return ", "raise RuntimeError('no cover'); return "))
    (module.parent / "cover.toml").write_text(RULE)
    config = module.parent / "capcheck.toml"
    config.write_text('facts = ["shop_facts.py"]\nrules = ["cover.toml"]\n')
    report = check(make_board(["R1,1,1,0,top,10k,PART-1"]), config=config)
    assert report.answers.broken_rules == [("room-under-cover", "RuntimeError: no cover")]
    assert report.exit_code == 2


def test_the_class_of_product_is_a_fact(make_board: Any, tmp_path: Path) -> None:
    config = tmp_path / "capcheck.toml"
    config.write_text("product_class = 3\n")
    board = make_board(["R1,1,1,0,top,10k,PART-1"])
    assert check(board, config=config).session.get("board.product_class").low[0] == 3  # type: ignore[union-attr]
    assert check(board).session.get("board.product_class").high[0] == float("inf")  # type: ignore[union-attr]
