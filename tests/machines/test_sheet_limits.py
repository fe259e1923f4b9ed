"""Leads below the body, force, number of leads and named nozzles: judged on the limit and one step past it, in both.

Figures: invented in round numbers.
"""

import pytest
from hypothesis import given, strategies as st

from capcheck.checking import check, prepare
from capcheck.checking.answer import Choice
from capcheck.engine import load_rules, rule_files, shipped_rules
from capcheck.engine.examples import outcome_of
from capcheck.engine.rule_entries import ExampleEntry
from capcheck.facts import FACTS
from capcheck.lexicon import sentence
from capcheck.machines import Nozzle
from capcheck.model import Basis
from capcheck.planning import plan
from capcheck.shop import Settings
from capcheck.values.interval import Interval

ACCURATE = """\
name = "M"
[feeders]
slots = 20
slots_used = { "8 mm" = 1, "24 mm" = 1 }
[[head]]
name = "h"
accuracy = "0.01 mm"
accuracy_sigma = 3
rotation_accuracy = "0.01 degree"
"""
MACHINE = f"""{ACCURATE}
max_lead_length = "4 mm"
min_force = "2 N"
max_force = "20 N"
max_pins = 100
nozzle = [{{ name = "Large", min_side = "4 mm", max_side = "30 mm" }}]
"""
RULES = ["lead-length", "force-needed", "force-allowed", "lead-count", "nozzle-named"]


@pytest.mark.parametrize(
    ("column", "cell", "rule", "verdict"),
    [
        ("lead length [mm]", "4", None, "pass"),
        ("lead length", "4.1 mm", "lead-length", "fail"),
        ("force needed [N]", "20", None, "pass"),
        ("force needed", "20.1 N", "force-needed", "fail"),
        ("force allowed [N]", "2", None, "pass"),
        ("force allowed", "1.9 N", "force-allowed", "fail"),
        ("force allowed", "1 to 3 N", "force-allowed", "undecided"),
        ("pins", "100", None, "pass"),
        ("pins", "101", "lead-count", "fail"),
        ("nozzle", "large", None, "pass"),
        ("nozzle", "small", "nozzle-named", "fail"),
    ],
)
def test_check_and_plan_agree_on_what_a_library_states(make_board, make_line, tmp_path, column, cell, rule, verdict):
    table = tmp_path / "parts.csv"
    pins = "" if column == "pins" else ",pins"
    table.write_text(
        f"part number,mounting,length [mm],width [mm],height [mm],supply,tape width [mm],{column}{pins}\n"
        f"XQ9901-99,surface,9,9,2,tape,24,{cell}{',8' if pins else ''}\n"
    )
    folder = make_board(["U1,5,10,0,top,1,OWN LAND"], bom=["Ref,Qty,Part number", "U1,1,XQ9901-99"])
    line, choice = make_line(MACHINE), Choice(select=RULES)
    report = check(folder, line=line, libraries=[table], choice=choice)
    assert {f.rule for f in report.findings} == ({rule} if rule else set())
    planned = plan([folder], line, shop=prepare(Settings(libraries=[table], choice=choice), None)).plan
    assert report.verdict == verdict or (verdict == "undecided" and report.verdict == "warn")
    assert (planned.verdict == "pass") is (verdict == "pass")


BOWLS = """\
name = "M"
[feeders]
slots = 10
slots_used = { "8 mm" = 1 }
bowl_slots = 6
[[head]]
name = "h"
accuracy = "0.01 mm"
accuracy_sigma = 3
rotation_accuracy = "0.01 degree"
supplies = ["tape", "bowl"]
"""


@pytest.mark.parametrize(
    ("profile", "parts", "verdict", "rules"),
    [
        (BOWLS, 1, "pass", set()),
        (BOWLS, 2, "fail", {"feeder-slots"}),
        (BOWLS.replace('"bowl"]', '"stick"]'), 1, "warn", {"supply-form", "feeder-slots"}),
        (BOWLS.replace("bowl_slots = 6\n", ""), 1, "warn", {"feeder-slots"}),
        (BOWLS.replace("slots = 10", "") + '[[bank]]\nname = "front"\nslots = 8\n', 1, "pass", set()),
    ],
)
def test_a_bowl_takes_its_slots_in_check_and_plan(make_board, make_line, tmp_path, profile, parts, verdict, rules):
    table = tmp_path / "parts.csv"
    numbers = [f"XQ990{k}-99" for k in range(1, parts + 1)]
    rows = [f"{number},surface,9,9,2,bowl" for number in numbers]
    table.write_text("\n".join(["part number,mounting,length [mm],width [mm],height [mm],supply", *rows]))
    folder = make_board(
        [f"U{k},{5 + 20 * k},10,0,top,1,OWN LAND" for k in range(1, parts + 1)],
        bom=["Ref,Qty,Part number", *(f"U{k},1,{number}" for k, number in enumerate(numbers, 1))],
    )
    choice = Choice(select=["supply-form", "feeder-slots", "bank-slots", "feeder-bank"])
    line = make_line(profile)
    report = check(folder, line=line, libraries=[table], choice=choice)
    assert ({f.rule for f in report.findings}, report.verdict) == (rules, verdict)
    planned = plan([folder], line, shop=prepare(Settings(libraries=[table], choice=choice), None)).plan
    assert (planned.verdict == "pass") is (verdict == "pass")


def test_a_table_of_the_shop_s_cures_the_warning_of_usual_packing(make_board, make_line, tmp_path):
    table = tmp_path / "parts.csv"
    head = "part number,mounting,length [mm],width [mm],height [mm],pins,supply,tape width [mm],parts per reel\n"
    rows = ["XQ9901-99,surface,9,9,2,8,tape,16,500", "XQ9902-99,surface,1,0.5,0.3,2,,,"]
    folder = make_board(
        ["U1,5,10,0,top,1,OWN LAND", "U2,25,10,0,top,1,OWN LAND"],
        bom=["Ref,Qty,Part number", "U1,1,XQ9901-99", "U2,1,XQ9902-99"],
    )
    line, told = make_line(MACHINE.replace('"24 mm"', '"16 mm"')), []
    for last in (rows[1], rows[1].replace("2,,,", "2,tape,8,9000")):
        table.write_text(head + "\n".join([rows[0], last]))
        found = plan([folder], line, shop=prepare(Settings(libraries=[table], choice=Choice(select=RULES)), None)).plan
        told.append([sentence(note) for note in found.notes if "usual" in sentence(note)])
    assert told[1] == []
    (note,) = told[0]
    assert "XQ9902-99" in note
    assert "XQ9901-99" not in note


NOZZLES = f"""{ACCURATE}
nozzle = [
  {{ name = "small", min_side = "0.5 mm", max_side = "2 mm" }},
  {{ name = "large", min_side = "2 mm", max_side = "12 mm" }},
]
"""


@pytest.mark.parametrize(
    ("length", "width", "named", "rules"),
    [
        ("2", "0.5", "", set()),
        ("2", "0.4", "", {"nozzle-for-size"}),
        ("12", "2", "", set()),
        ("12.1", "2", "", {"nozzle-for-size"}),
        # Neither holds a body that is long and narrow; who names a nozzle for it has found that one does.
        ("3", "1", "", {"nozzle-for-size"}),
        ("3", "1", "small", set()),
        ("1 to 3", "1", "", {"nozzle-for-size"}),
    ],
)
def test_check_and_plan_ask_for_a_nozzle_for_the_size(make_board, make_line, tmp_path, length, width, named, rules):
    table = tmp_path / "parts.csv"
    head = "part number,mounting,length [mm],width [mm],height [mm],supply,tape width [mm],nozzle\n"
    table.write_text(f"{head}XQ9901-99,surface,{length},{width},0.5,tape,8,{named}\n")
    folder = make_board(["U1,5,10,0,top,1,OWN LAND"], bom=["Ref,Qty,Part number", "U1,1,XQ9901-99"])
    line, choice = make_line(NOZZLES), Choice(select=["nozzle-for-size", "nozzle-named"])
    report = check(folder, line=line, libraries=[table], choice=choice)
    assert {f.rule for f in report.findings} == rules
    assert all(f.undecided is ("to" in length) for f in report.findings)
    planned = plan([folder], line, shop=prepare(Settings(libraries=[table], choice=choice), None)).plan
    assert (planned.verdict == "pass") is (not rules)


@pytest.mark.parametrize(
    ("footprint", "sides", "undecided"),
    [
        # The family bounds it at 5.97 to 31.09 × 1 to 26 mm.
        ("HDR-2X3 P2.54", (2, 12), [True]),
        ("HDR-2X3 P2.54", (2, 32), [True]),
        ("HDR-2X3 P2.54", (1, 31), [True]),
        ("HDR-2X3 P2.54", (1, 32), []),
        ("HDR-2X20 P2.54", (2, 12), [False]),
    ],
)
def test_a_body_that_is_only_bounded_passes_where_each_size_has_a_nozzle(
    make_board, make_line, footprint, sides, undecided
):
    folder = make_board([f"J1,5,10,0,top,1,{footprint} SMD"], toml='[mounting]\n"J*" = "surface"\n')
    least, most = sides
    line = make_line(
        NOZZLES.replace('min_side = "2 mm", max_side = "12 mm"', f'min_side = "{least} mm", max_side = "{most} mm"')
    )
    report = check(folder, line=line, choice=Choice(select=["nozzle-for-size"]))
    assert report.board.bodies[0].length.basis is Basis.BOUND
    assert [f.undecided for f in report.findings] == undecided


@given(st.integers(1, 9), st.integers(1, 9), st.integers(1, 9), st.integers(0, 9), st.integers(0, 9), st.integers(0, 4))
def test_a_wider_nozzle_or_a_body_known_better_never_turns_a_proof_round(low, more, most, least, length, wide):
    nozzle = Nozzle(name="n", min_side=f"{low} mm", max_side=f"{low + more} mm")
    wider = Nozzle(name="n", min_side=f"{max(low - least, 0)} mm", max_side=f"{low + more + most} mm")
    body = Interval(float(length), float(length + wide)), Interval.exactly(float(min(length, 2)))
    exact = Interval.exactly(float(length)), body[1]
    if nozzle.fits(*body) is True:
        assert wider.fits(*body) is True
    if nozzle.fits(*body) is not None:
        assert nozzle.fits(*exact) is nozzle.fits(*body)


LIMITS = {
    "lead-length": ("part.lead_length", "head.max_lead_length", "mm", 1),
    "force-needed": ("part.force_needed", "head.max_force", "N", 1),
    "force-allowed": ("part.force_allowed", "head.min_force", "N", -1),
    "lead-count": ("part.pins", "head.max_pins", "", 1),
    "board-buffered": ("transport.length", "machine.buffered_length", "mm", 1),
    "board-one-stop": ("transport.length", "machine.one_stop_length", "mm", 1),
}
"""Rule, what the part has, what the head states, unit, and whether a greater limit is the looser one."""
SHIPPED = {r.id: r for r in load_rules(rule_files([shipped_rules()]), FACTS) if r.id in LIMITS}
counts = st.integers(3, 12)


@given(st.sampled_from(sorted(LIMITS)), counts, counts, counts, st.integers(0, 9))
def test_a_loosened_limit_never_turns_a_pass_into_a_fail(rule, one, other, limit, more):
    fact, field, unit, sign = LIMITS[rule]

    def outcome(at):
        facts = {} if rule.startswith("board") else {"part.mounting": "surface"}
        facts[field] = f"{at} {unit}".strip()
        facts[fact] = [f"{value} {unit}".strip() for value in sorted([one, other])]
        return outcome_of(SHIPPED[rule], FACTS, ExampleEntry(facts=facts, outcome="pass"))

    order = {"fail": 0, "warn": 0, "undecided": 1, "pass": 2}
    assert order[outcome(limit)] <= order[outcome(limit + sign * min(more, limit - 1))]
