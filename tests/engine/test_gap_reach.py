"""How far neighbours are looked for: a pair that is not found would pass for ever.

Figures: facts and limits are invented.
"""

from __future__ import annotations

import pytest

from capcheck.engine.collect import load_rules
from capcheck.facts import FACTS
from capcheck.values.errors import InputError


@pytest.fixture
def reach(tmp_path):
    """Return a function that gives how far a rule needs its neighbours."""

    def of(require, when="", subject="pair", more=""):
        path = tmp_path / "own.toml"
        path.write_text(
            f'[tables]\ngaps = [{{ "pair.kinds" = "chip and *", least = "4 mm" }}]\n'
            '[[rule]]\nid = "own"\ntitle = "t"\n'
            f'subject = "{subject}"\nwhen = """{when}"""\nrequire = """{require}"""\n'
            f'message = "m"\nwhy = "w"\nremedy = "r"\nbasis = "b"\n{more}'
        )
        return load_rules([path], FACTS)[0].reach

    return of


@pytest.mark.parametrize(
    ("require", "when", "subject", "expected"),
    [
        ("pair.gap >= '5 mm'", "", "pair", 5),
        ("pair.gap >= '5 mm' + '2 mm'", "", "pair", 7),
        ("pair.gap - '2 mm' >= '6 mm'", "", "pair", 8),
        ("'5 mm' <= pair.gap_least", "", "pair", 5),
        ("pair.gap >= tables.gaps.least", "", "pair", 4),
        ("pair.gap >= min(pair.second.height, '9 mm') + '1 mm'", "", "pair", 10),
        ("pair.gap >= pair.second.height", "pair.gap < '8 mm' and pair.first.is_part", "pair", 8),
        ("pair.gap >= ('2 mm' if pair.first.polarised else '6 mm')", "", "pair", 6),
        ("all(pair.gap >= pair.first.height / 2, where pair.gap <= '7 mm')", "", "board", 7),
        ("count(pair, where pair.gap < '3 mm') <= 5", "", "board", 3),
        ("least(pair.gap) >= '5 mm'", "", "board", 5),
        ("not any(pair.gap <= '3 mm')", "", "board", 3),
        ("any(pair.gap <= '3 mm' and pair.first.height > '1 mm', where pair.gap < '2 mm')", "", "board", 2),
        ("part.height <= '5 mm'", "", "part", 0),
    ],
)
def test_a_rule_looks_as_far_as_a_gap_could_break_it(reach, require, when, subject, expected):
    assert reach(require, when, subject) == expected


@pytest.mark.parametrize(
    ("require", "when", "subject", "said"),
    [
        ("pair.gap >= pair.second.height", "", "pair", "would pass unseen"),
        ("pair.gap - pair.second.height >= '1 mm'", "", "pair", "would pass unseen"),
        ("pair.gap >= pair.second.height", "pair.gap > '8 mm'", "pair", "would pass unseen"),
        ("all(pair.gap >= pair.first.height)", "", "board", "would pass unseen"),
        ("least(pair.gap) >= board.thickness", "", "board", "would pass unseen"),
        ("pair.first.height <= '5 mm'", "", "pair", "does not say how far apart they may be"),
        ("count(pair, where pair.gap > '3 mm') <= 5", "", "board", "would be chance"),
        ("greatest(pair.gap) <= '5 mm'", "", "board", "would be chance"),
        ("count(pair) <= 5", "", "board", "would be chance"),
        ("part.height <= '5 mm' or count(pair) <= 5", "", "part", "would be chance"),
        ("any(pair.gap >= '5 mm')", "", "board", "would be chance"),
        ("any(pair.gap <= '3 mm' or pair.first.height > '1 mm')", "", "board", "would be chance"),
        ("all(pair.first.height < '3 mm')", "", "board", "would be chance"),
    ],
)
def test_a_rule_whose_pairs_have_no_end_is_refused(reach, require, when, subject, said):
    with pytest.raises(InputError) as caught:
        reach(require, when, subject)
    assert said in str(caught.value)


def test_a_fact_that_counts_pairs_without_an_end_is_refused(tmp_path):
    path = tmp_path / "own.toml"
    path.write_text('[[fact]]\nname = "board.pairs"\nexpression = "count(pair) + 1"\nhelp = "pairs"\n')
    with pytest.raises(InputError, match="would be chance"):
        load_rules([path], FACTS)


def test_a_tall_part_farther_off_than_neighbours_are_usually_looked_for_is_found(make_board, tmp_path):
    from capcheck.checking.answer import check
    from capcheck.shop.settings import Choice

    path = tmp_path / "own.toml"
    path.write_text(
        '[[rule]]\nid = "own"\ntitle = "t"\nsubject = "pair"\nwhen = "pair.gap < \'30 mm\'"\n'
        'require = "pair.gap >= pair.second.height / 2"\noutcome = "warn"\n'
        'message = "{pair.first.ref} is {pair.gap} from {pair.second.ref}, which is {pair.second.height} tall"\n'
        'why = "w"\nremedy = "r"\nbasis = "b"\n'
    )
    rows = ["U1,10,10,0,top,,", "U2,30,10,0,top,,"]
    bom = ["Refs,Part number,Length [mm],Width [mm],Height [mm]", "U1,P-1,5,5,1", "U2,P-2,5,5,40"]
    board = make_board(rows, bom=bom, toml='units = "mm"\nmounting = { "U*" = "surface" }\n')
    report = check(board, choice=Choice(folders=[path], select=["own"]))
    assert [f.message for f in report.findings] == ["U1 is 15 mm from U2, which is 40 mm tall"]
