"""Whether a fact of pairs says the same whichever of the two parts is called the first.

Figures: facts and limits are invented.
"""

from __future__ import annotations

import pytest

from capcheck.engine.collect import load_rules
from capcheck.engine.definitions import read_definitions
from capcheck.engine.expression import read_value
from capcheck.engine.pair_symmetry import is_symmetric
from capcheck.engine.subjects import SUBJECTS
from capcheck.facts import FACTS
from capcheck.values.errors import InputError

TABLES = {
    "tables": {
        name: [{"part.package_family": "soic", "most": most, "other": "9 mm"}]
        for name, most in (("low", "1 mm"), ("high", "5 mm"))
    }
    | {
        "of_first": [{"pair.first.package_family": "soic", "most": "1 mm", "other": "2 mm"}],
        "of_second": [{"pair.second.package_family": "soic", "most": "1 mm", "other": "2 mm"}],
        "low_of_second": [{"pair.second.package_family": "soic", "most": "7 mm", "other": "2 mm"}],
    }
}


def symmetric(text, tmp_path):
    shared, problems = read_definitions(TABLES, tmp_path / "own.toml", "", FACTS)
    assert not problems
    return is_symmetric(read_value(text, FACTS, {}, shared=shared, subject=SUBJECTS["pair"]))


@pytest.mark.parametrize(
    "text",
    [
        "max(pair.first.height, pair.second.height)",
        "abs(pair.first.height - pair.second.height) + abs(pair.second.height - pair.first.height)",
        "abs(pair.first.height - pair.second.height)",
        "pair.first.height * pair.second.width + pair.second.height * pair.first.width",
        "pair.first.height < '3 mm' and pair.second.height < '3 mm'",
        "pair.first.height < pair.second.height or pair.first.height > pair.second.height",
        "pair.first.value == pair.second.value",
        "pair.first.height == pair.second.height",
        "pair.first.pins in (2, 3) or pair.second.pins in (2, 3)",
        "pair.first.value starts with 'A' and pair.second.value starts with 'A'",
        "pair.gap",
        "pair.gap * least(part.height)",
    ],
)
def test_what_counts_both_parts_alike_is_allowed(text, tmp_path):
    assert symmetric(text, tmp_path)


@pytest.mark.parametrize(
    "text",
    [
        "pair.first.height",
        "pair.first.height - pair.second.height",
        "pair.first.height / pair.second.height",
        "pair.first.height < '3 mm' and pair.second.height < '4 mm'",
        "pair.first.height <= pair.second.height",
        "pair.first.pins in (2, 3) or pair.second.pins in (2, 4)",
        "pair.first.value starts with 'A' and pair.second.value starts with 'B'",
        "pair.first.value starts with 'A' and pair.second.value ends with 'A'",
        "pair.first.value in ('A', 'B') and pair.second.value in ('B', 'C')",
        # Aggregates of one value, but not the same ones.
        "pair.first.height <= least(part.height) and pair.second.height <= greatest(part.height)",
        "pair.first.pins <= count(part of side) and pair.second.pins <= count(part of board)",
        "pair.first.pins <= count(part) and pair.second.pins <= count(fiducial)",
        "any(part.height > '3 mm') and pair.first.located or all(part.height > '3 mm') and pair.second.located",
        # Columns of one name, of different tables.
        "pair.first.height <= tables.of_first.most and pair.second.height <= tables.low_of_second.most",
        "pair.first.height <= tables.of_first.most and pair.second.height <= tables.of_second.other",
        "(pair.first.height if pair.first.located else pair.gap) < '3 mm'",
    ],
)
def test_what_hangs_on_which_part_is_called_the_first_is_not(text, tmp_path):
    assert not symmetric(text, tmp_path)


def test_such_a_fact_is_refused_where_it_is_read(tmp_path):
    path = tmp_path / "own.toml"
    path.write_text(
        '[[fact]]\nname = "pair.low"\nhelp = "both are low"\n'
        'expression = "pair.first.height <= least(part.height) and pair.second.height <= greatest(part.height)"\n'
    )
    with pytest.raises(InputError, match="depends on which of the pair is the first"):
        load_rules([path], FACTS)
