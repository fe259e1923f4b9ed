"""What the customer's files state of each part in their own words, and what a shop's own facts are held to.

Figures: boards and parts are invented.
"""

from __future__ import annotations

import pytest

from capcheck.checking.answer import check
from capcheck.engine.collect import load_rules, rule_files
from capcheck.engine.guidelines import shipped_rules
from capcheck.facts import FACTS, FactError
from capcheck.facts.python_files import shop_catalogue
from capcheck.model import Family
from capcheck.shop.configuration import Configuration
from capcheck.shop.settings import Choice, settle

ROWS = [
    "Ref,X [mm],Y [mm],Rotation,Side,Value,Footprint",
    "R1,10,20,90,top,10k,RESC1608X50N",  # a name by IPC-7351, the size stands in it
    "D1,30,20,0,bottom,,DIOM5226X230N",  # likewise by IPC-7351
]
BOM = [
    "Refs,Part number,Manufacturer,Description,Moisture level",
    "R1,AB-1,Ada Parts,Resistor,1",
    "D1,AB-2,,,",
]


@pytest.fixture
def facts(make_board):
    """Return a function that gives the column of a fact, row by row, of a board of two parts."""
    folder = make_board(ROWS[1:], bom=BOM, toml='units = "mm"\n')

    def values(name, **more):
        report = check(folder, **more)
        column = report.session.get(name)
        if hasattr(column, "low"):
            return list(zip(column.low.tolist(), column.high.tolist(), strict=True))
        return [column.value(row) for row in range(len(column))]

    return values


@pytest.mark.parametrize(
    ("name", "expected"),
    [
        ("part.value", ["10k", None]),
        ("part.description", ["Resistor", None]),
        ("part.maker", ["Ada Parts", None]),
        ("part.side", ["top", "bottom"]),
        ("part.x", [(10, 10), (30, 30)]),
        ("part.y", [(20, 20), (20, 20)]),
        ("part.rotation", [(90, 90), (0, 0)]),
        ("part.polarised", [False, True]),
        ("part.package_family", [Family.CHIP_RESISTOR, Family.MOLDED_DIODE]),
        ("part.column('Moisture level')", ["1", None]),
        ("part.column('MOISTURE LEVEL')", ["1", None]),
        ("part.column('Moisture')", [None, None]),
        ("bom.column('Part number')", ["AB-1", "AB-2"]),
        ("board.customer", [None]),
    ],
)
def test_what_is_stated_is_a_fact_and_what_is_not_is_unknown(facts, name, expected):
    assert facts(name) == expected


def test_the_customer_of_a_run_is_a_fact(make_board, tmp_path):
    path = tmp_path / "own.toml"
    path.write_text(
        '[[rule]]\nid = "own"\ntitle = "t"\nsubject = "board"\nrequire = "board.customer == \'ada works\'"\n'
        'message = "m"\nwhy = "w"\nremedy = "r"\nbasis = "b"\n'
    )
    from capcheck.checking.answer import check_as_settled

    folder = make_board(ROWS[1:], bom=BOM)
    for customer, outcome in (("Ada Works", "pass"), ("Other", "fail"), ("", "warn")):
        settings = settle(Configuration(), board=folder, customer=customer, rules=[path], select=["own"])
        assert check_as_settled(settings, None).verdict == outcome


def test_a_place_whose_unit_is_open_is_unknown(make_board):
    board = make_board(["R1,10,20,90,top,10k,X"])
    (board / "placements.csv").write_text("Ref,X,Y,Rotation,Side,Value,Footprint\nR1,10,20,90,top,10k,X\n")
    report = check(board)
    assert not report.board.unit_settled
    assert report.session.numbers("part.x").high[0] == float("inf")


def test_the_bom_s_columns_are_named_where_a_rule_asks_for_one_that_is_not_there(make_board, tmp_path):
    path = tmp_path / "own.toml"
    path.write_text(
        '[[rule]]\nid = "own"\ntitle = "t"\nsubject = "part"\nrequire = "part.column(\'Moistur\') == \'1\'"\n'
        'message = "m"\nwhy = "w"\nremedy = "r"\nbasis = "b"\n'
    )
    report = check(make_board(ROWS[1:], bom=BOM), choice=Choice(folders=[path], select=["own"]))
    from capcheck.lexicon import sentence

    told = [sentence(note.said) for note in report.notices if note.said.key == "checking.no column"]
    assert len(told) == 1
    assert '"Moistur"' in told[0]
    assert "Moisture level" in told[0]
    assert report.totals.undecided == 2


FREE = {
    "names and numbers that people give": {
        "board.name", "bom.part_number", "bom.refs", "board.customer", "fiducial.ref", "head.name", "line.name",
        "machine.name", "pair.refs", "part.footprint", "part.nozzle", "part.part_number", "part.ref", "part.type",
        "side.fiducial_names", "side.tightest_openings", "head.smallest_chip",
    },
    "the customer's own words": {"part.description", "part.maker", "part.value"},
    "sentences for a reader": {
        "board.first_side_because", "board.hole_at_edge", "board.open_gap_pairs", "board.open_gap_types",
        "board.open_topics", "board.places_doubt", "data.refs", "data.statement", "line.panel_proposal",
        "line.refusing_board", "line.ways", "part.conflict", "part.misfit", "part.place_stated", "part.question",
        "part.records",
        "part.size_question", "part.supply_question", "part.way_off", "passage.tallest_below_part",
    },
}  # fmt: skip


def test_every_text_that_is_not_free_lists_its_values():
    free = set().union(*FREE.values())
    assert {
        fact.name for fact in FACTS if fact.kind in {"text", "set"} and not fact.choices and fact.names is None
    } == free


def test_the_family_of_a_part_is_a_name_that_the_fact_lists_or_begins_with_one():
    """On the demo: what a rule may ask for is what occurs, and a name that is listed is no slip."""
    usual = FACTS["part.family"].names
    assert usual is not None
    report = check("fixtures/irrigation-controller")
    found = {body.family for body in report.board.bodies} - {None}
    assert len(found) > 10
    assert [name for name in found if usual.meant(name) is not None] == []
    assert [name for name in usual.every() if usual.meant(name) is not None] == []
    assert {"TQFP", "SOT-23", "chip resistor", "coaxial connector"} <= set(
        usual.every()
    )  # invented: names alone, of no device


def test_no_fact_has_a_text_beside_those_that_it_lists():
    """On the demo: what a provider returns is among the values against which rules are checked."""
    rules = load_rules(rule_files([shipped_rules()]), FACTS)
    report = check("fixtures/irrigation-controller", line="fixtures/lines/mixed.line.toml")
    asked = {name for rule in rules for name in rule.facts}
    texts = [FACTS[name] for name in sorted(asked | {"part.part_class", "part.package_family", "part.side"})]
    for fact in texts:
        if fact.kind == "text" and fact.choices:
            for column in report.session.on_each(fact.name):
                used = {column.value(row) for row in range(len(column))} - {None}
                assert used <= set(fact.choices), fact.name


SHOP = """
from capcheck import Catalogue, Numbers, Texts, Truths
from capcheck.values import LENGTH

facts = Catalogue()


@facts.{declared}
def own(part_ref):
    return {returned}
"""


@pytest.mark.parametrize(
    ("declared", "returned", "said"),
    [
        ('flag("part.own", "own")', "Numbers.stated([1.0] * len(part_ref))", "returned Numbers, it is declared as yes"),
        ('flag("part.own", "own")', "Truths.of([True])", "own has 1 row, for each fitted part"),
        ('flag("part.own", "own")', "[True, False]", "returned list, it is declared as yes or no: return Truths"),
        (
            'text("part.own", "own", choices=("a",))',
            'Texts.of(["a", "b"])',
            'the text "b", which is none of its choices',
        ),
        (
            'number("part.own", LENGTH, "own")',
            'Numbers.of_ends([1.0, float("nan")], [2.0, 2.0])',
            "ends that are nan",
        ),
        (
            'number("part.own", LENGTH, "own")',
            "Numbers.of_ends([1.0, 3.0], [2.0, 2.0])",
            "stand the wrong way round",
        ),
    ],
)
def test_a_shop_s_fact_of_wrong_length_or_kind_names_its_file_and_line(make_board, tmp_path, declared, returned, said):
    path = tmp_path / "own.py"
    path.write_text(SHOP.format(declared=declared, returned=returned))
    catalogue = shop_catalogue([path])
    report = check(make_board(ROWS[1:]), choice=Choice(catalogue=catalogue))
    with pytest.raises(FactError) as caught:
        report.session.get("part.own")
    assert str(caught.value).startswith(f"{path}:8: part.own")
    assert said in str(caught.value)
