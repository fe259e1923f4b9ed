"""One configuration holds alike for every command: limits, waivers, rules of the shop, by the board's own layers.

Figures: invented limits, boards and machines.
"""

import json
import shutil

import pytest
from depth import sample_of

RULE = """
[[rule]]
id = "low-parts-only"
title = "The part fits under the cover"
finding = "The part is too tall for the cover"
subject = "part"
require = "part.height <= limits.most"
outcome = "{outcome}"
message = "{{part.ref}}: {{part.height}} tall, the cover leaves {{limits.most}}"
why = "The cover presses on tall parts."
remedy = "Choose a lower part."
basis = "drawing of the cover"
limits = {{ most = "{most}" }}
"""
WAIVER = '[[waiver]]\nrule = "{rule}"\nreason = "seen in the sample"\nwho = "Ada"\nuntil = 2099-12-31\n'
BOARD = "irrigation-controller"
SMALL = "flow-sensor"
COMMANDS = ("check", "plan", "compare")
TROUBLES = {
    "as it ships": "",
    "a limit that fails": '[limits]\n"fiducial-count.least" = 9\n[outcomes]\nfiducial-count = "fail"\n',
    "a rule of the shop that fails": 'rules = ["shop-rules"]\n',
    "that rule waived": 'rules = ["shop-rules"]\n' + WAIVER.format(rule="low-parts-only"),
    "that rule only warns": 'rules = ["shop-rules"]\n[outcomes]\nlow-parts-only = "warn"\n',
    "what fails is waived": "".join(map(WAIVER.format_map, [{"rule": r} for r in ("*-body", "*-height", "ball-*")])),
    "strict": "strict = true\n",
    "a layer of the board": 'rules = ["shop-rules"]\n[boards."{board}"]\n'
    'limits = {{ "low-parts-only.most" = "90 mm" }}\n',
    "a layer of its customer": 'rules = ["shop-rules"]\n[customers.Umbra]\nboards = ["."]\n'
    '[[customers.Umbra.waiver]]\nrule = "low-parts-only"\nreason = "x"\nwho = "Ada"\nuntil = 2099-12-31\n',
    "assumed": '[assumed]\nthickness = "9 mm"\n',
}


@pytest.fixture
def desk(shop, tmp_path, monkeypatch):
    shutil.copytree(shop, tmp_path / "shop")
    (tmp_path / "shop" / "shop-rules").mkdir()
    (tmp_path / "shop" / "shop-rules" / "cover.toml").write_text(RULE.format(outcome="fail", most="1 mm"))
    monkeypatch.chdir(tmp_path / "shop")
    return tmp_path / "shop"


@pytest.mark.parametrize(
    ("trouble", "line"),
    sample_of([*((trouble, "mixed") for trouble in TROUBLES), ("as it ships", "chip"), ("strict", "full")], 4),
)
def test_check_plan_and_compare_come_to_one_verdict_and_exit_code(desk, run, trouble, line):
    text = TROUBLES[trouble]
    (desk / "capcheck.toml").write_text(text.format(board=SMALL) if "{board}" in text else text)
    told = (SMALL, "--line", f"lines/{line}.line.toml", "--format", "json")
    check, plan, compare = (
        run(command, *told, *(() if command == "check" else ("--time-limit", "0.2")))
        for command in ("check", "plan", "compare")
    )
    verdict = json.loads(check[1])["verdict"]
    assert (verdict, check[0]) == (json.loads(plan[1])["verdict"], plan[0])
    assert (verdict, check[0]) == (json.loads(compare[1])["lines"][0]["verdict"], compare[0])
    failing = {"a rule of the shop that fails", "a limit that fails"}
    if trouble in failing:
        assert verdict == "fail"


@pytest.mark.parametrize(("line", "part"), [("chip", ""), ("mixed", 'part = "*"\n'), ("full", "")])
def test_what_is_waived_altogether_passes_in_every_command(desk, run, line, part):
    """On two lines the width of a tape is open: what a plan asks by machine, a rule on feeders asks in the check."""
    (desk / "capcheck.toml").write_text("strict = true\n" + WAIVER.format(rule="*") + part)
    told = (BOARD, "--line", f"lines/{line}.line.toml", "--format", "json")
    assert run("check", *told)[0] == 0
    for command in ("plan", "compare"):
        code, out, _ = run(command, *told, "--time-limit", "0.2")
        assert (code, '"verdict":"pass"' in out.replace(" ", "")) == (0, True), command


# IPC-7351B: 1.6 x 0.8 mm.
@pytest.mark.parametrize(
    ("accepted", "strict_code"), [(WAIVER.format(rule="*"), 0), ("", 1), (WAIVER.format(rule="[!o]*"), 1)]
)
def test_a_board_without_outline_gets_one_verdict(desk, run, make_board, accepted, strict_code):
    """That its size is not checked is a finding: who accepts it accepts that the passage is not answered."""
    board = make_board(["R1,20,10,0,top,10k,RES 1608M", "R2,40,30,0,top,10k,RES 1608M"])
    (desk / "capcheck.toml").write_text("strict = true\n" + accepted)
    told = (board, "--line", "lines/full.line.toml", "--config", desk / "capcheck.toml")
    found = [run(command, *told, *(() if command == "check" else ("--time-limit", "1"))) for command in COMMANDS]
    assert [code for code, _, _ in found] == [strict_code] * 3
    assert "has no outline" in " ".join(found[1][1].split())


@pytest.mark.parametrize("line", ["mixed", "full"])
def test_what_a_part_comes_in_is_accepted_with_the_rule_that_asks_it(desk, run, make_board, line):
    """Of a part that nothing names the packing is open: to a rule on feeders in the check, to a feeder in the plan."""
    board = make_board(["J1,30,20,0,top,,OWN-1", "R1,20,10,0,top,10k,RES 1608M"], toml='outline = "outline.dxf"\n')
    shutil.copy(desk / BOARD / "outline.dxf", board)
    (desk / "capcheck.toml").write_text("strict = true\n" + WAIVER.format(rule="*"))
    told = (board, "--line", f"lines/{line}.line.toml", "--config", desk / "capcheck.toml", "--format", "json")
    assert run("check", *told)[0] == 0
    for command in ("plan", "compare"):
        assert run(command, *told, "--time-limit", "1")[0] == 0, command


def test_slots_that_suffice_for_the_usual_tapes_pass_in_both_and_the_plan_says_what_wider_ones_need(
    desk, run, make_board, make_line
):
    board = make_board([f"R{n},{10 * n},10,0,top,{n}k,RES 1608M" for n in (1, 2, 3)], toml='outline = "outline.dxf"\n')
    shutil.copy(desk / BOARD / "outline.dxf", board)
    feeders = '[feeders]\nslots = 3\nslots_used = { "8 mm" = 1, "12 mm" = 2 }\n'
    line = make_line(f'name = "M"\n{feeders}[[head]]\nname = "h"\n')
    (desk / "capcheck.toml").write_text("strict = true\n" + WAIVER.format(rule="*"))
    told = (board, "--line", line, "--config", desk / "capcheck.toml", "--select", "feeders")
    assert run("check", *told)[0] == 0
    code, out, _ = run("plan", *told[:-2], "--time-limit", "1")
    assert (code, "6 needed were each usual tape one width wider" in out) == (0, True)
    assert "not if each came one width wider (6): check the packing" in " ".join(out.split())


# IPC-7351B: 1.6 x 0.8 mm. Three part numbers on two slots.
@pytest.mark.parametrize(("rule", "code"), [("feeder-slots", 0), ("tray-places", 1)])
def test_a_shortage_of_slots_is_accepted_by_the_rule_that_asks_for_them(desk, run, make_board, make_line, rule, code):
    board = make_board([f"R{n},{10 * n},10,0,top,{n}k,RES 1608M" for n in (1, 2, 3)])
    feeders = '[feeders]\nslots = 2\nslots_used = { "8 mm" = 1 }\n'
    line = make_line(f'name = "M"\n{feeders}[[head]]\nname = "h"\n')
    (desk / "capcheck.toml").write_text(WAIVER.format(rule=rule))
    told = (board, "--line", line, "--config", desk / "capcheck.toml", "--select", "feeders")
    assert [run(command, *told)[0] for command in COMMANDS[:1]] == [code]
    assert [run(command, *told[:-2], "--time-limit", "1")[0] for command in COMMANDS[1:]] == [code] * 2


def test_a_limit_of_one_run_is_taken_by_every_command_that_answers_rules(desk, run):
    line = "lines/mixed.line.toml"
    (desk / "capcheck.toml").write_text('[outcomes]\nfiducial-count = "fail"\n')
    limit = ("--limit", "fiducial-count.least=9")
    for command in ("check", "plan", "compare"):
        assert run(command, BOARD, "--line", line)[0] == 0, command
        assert run(command, BOARD, "--line", line, *limit)[0] == 1, command
    (desk / BOARD / "board.toml").touch()
    assert run("boards", "--under", BOARD, "--line", line, *limit)[0] == 1
    code, out, _ = run("survey", BOARD, "--line", line, "--plan-seconds", "0", "--format", "json", *limit)
    assert (code, json.loads(out)["boards"][0]["verdict"]) == (0, "fail")


def test_several_boards_of_one_run_are_judged_each_by_its_own_layer(desk, run):
    shutil.copytree(desk / BOARD, desk / "twin")
    (desk / "capcheck.toml").write_text(
        '[outcomes]\nfiducial-count = "fail"\n[boards.twin]\nlimits = { "fiducial-count.least" = 9 }\n'
    )
    folder = desk / "reports"
    code, _, _ = run(
        "check", BOARD, "twin", "--line", "lines/mixed.line.toml", "--format", "json", "--output", f"{folder}/"
    )
    verdicts = {path.stem: json.loads(path.read_text())["verdict"] for path in folder.glob("*.json")}
    assert (code, verdicts) == (1, {BOARD: "warn", "twin": "fail"})


def test_what_is_assumed_counts_is_told_and_asked_of_the_customer(desk, run):
    manifest = desk / BOARD / "board.toml"
    if manifest.exists():
        manifest.write_text("".join(r for r in manifest.read_text().splitlines(True) if not r.startswith("thickness")))
    (desk / "capcheck.toml").write_text('[assumed]\nthickness = "1.2 mm"\n')
    told = (BOARD, "--line", "lines/mixed.line.toml", "--format")
    report = json.loads(run("check", *told, "json")[1])
    assert report["board"]["thickness_mm"] == [1.2, 1.2]
    assert any("thickness" in note["message"] and "assumes" in note["message"] for note in report["notes"])
    assert "We will quote for a board of 1.2 mm." in run("check", *told, "questions")[1]
    read = json.loads(run("read", BOARD, "--format", "json")[1])
    assert read["board"]["thickness_mm"] == [1.2, 1.2]
    (desk / "capcheck.toml").unlink()
    report = json.loads(run("check", *told, "json")[1])
    assert report["board"]["thickness_mm"] != [1.2, 1.2]
    assert "We will quote for a board of 1.6 mm." in run("check", *told, "questions")[1]
