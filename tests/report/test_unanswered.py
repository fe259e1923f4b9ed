"""A run that answered nothing is no pass: verdict ``unanswered``, exit code 2, in every format, whatever the options.

Formats are found, not listed: one that is added is held to it at once.

Figures: invented, those of fixtures/ and of what the test writes.
"""

import json
from pathlib import Path

import pytest
from depth import sample_of

from capcheck import check, plan
from capcheck.cli import main
from capcheck.report import format_names, load_format
from capcheck.shop import Choice

ROOT = Path(__file__).parents[2]
LINE = ROOT / "fixtures" / "lines" / "mixed.line.toml"
HEADER = "Ref,X (mm),Y (mm),Rotation,Side,Value,Footprint,Fitted\n"
FITTED = HEADER + "R1,10,10,0,top,10k,RESC1608X55N,yes\nR2,30,10,0,top,10k,RESC1608X55N,yes\n"
RAISING = """from capcheck.engine import rule

@rule(
    id="own-rule", title="t", subject="part", message="m", why="w", remedy="r", basis="b",
    takes={"part_height": "length"},
)
def own_rule(part_height):
    raise RuntimeError("boom")
"""
WAYS = {
    "everything not fitted": (FITTED.replace("yes", "no"), []),
    "everything not fitted, on a line": (FITTED.replace("yes", "no"), ["--line", str(LINE)]),
    "marks alone": (HEADER + "FID1,10,10,0,top,,,yes\nFID2,30,30,0,top,,,yes\n", []),
    "bare pads alone": (HEADER + "J1,10,10,0,top,,test point dia 1.0mm,yes\n", []),
    "no line": (FITTED, ["--select", "part-height"]),
    "no line for a tag": (FITTED, ["--select", "line"]),
    "no BOM": (FITTED, ["--select", "in-bom"]),
    "no outline": (FITTED, ["--select", "on-board"]),
    "no outline, another rule answered": (FITTED, ["--select", "on-board,part-named"]),
    "no panel": (FITTED, ["--select", "panel"]),
    "a rule that raises": (FITTED, ["--config", "{folder}/shop.toml"]),
    "strict": (FITTED, ["--select", "in-bom", "--strict"]),
}


@pytest.fixture
def write(tmp_path):
    def make(placements):
        folder = tmp_path / "board"
        folder.mkdir(exist_ok=True)
        (folder / "placements.csv").write_text(placements)
        (tmp_path / "shop.rules.py").write_text(RAISING)
        (tmp_path / "shop.toml").write_text('rules = ["shop.rules.py"]\n')
        return folder

    return make


def told(content):
    """Return what a format says, in lower case; of a workbook, all its cells."""
    if isinstance(content, str):
        return content.casefold()
    import io

    from python_calamine import CalamineWorkbook

    book = CalamineWorkbook.from_filelike(io.BytesIO(content))
    return " ".join(
        str(c) for name in book.sheet_names for row in book.get_sheet_by_name(name).to_python() for c in row
    ).casefold()


@pytest.mark.parametrize("way", sample_of(WAYS, 4))
def test_the_command_ends_with_2_and_every_format_says_that_nothing_was_answered(way, write, tmp_path):
    placements, arguments = WAYS[way]
    folder = write(placements)
    arguments = [a.format(folder=tmp_path) for a in arguments]
    for name in format_names():
        output = tmp_path / "out"
        assert main(["check", str(folder), *arguments, "--format", name, "--output", str(output)]) == 2, name
        content = output.read_bytes()
        text = told(content if content[:2] == b"PK" else content.decode())
        # A customer is asked for the files instead.
        assert ("could not check this board" if name.startswith(("questions", "mail")) else "unanswered") in text, name
        assert "everything that was asked is proved to fit" not in text, name
        assert "nothing is open" not in text, name
        assert "no questions." not in text, name
        assert "we have no questions" not in text, name
    assert main(["check", str(folder), *arguments, "--format", "json", "--output", str(output)]) == 2
    report = json.loads(output.read_bytes())
    assert report["verdict"] == "unanswered"
    assert report["unanswered"]
    assert "pass" not in {part["outcome"] for part in report["parts"]}


def test_an_earlier_report_that_knows_every_finding_makes_no_pass_of_it(write, tmp_path):
    folder = write(FITTED.replace("yes", "no"))
    old = tmp_path / "old.json"
    assert main(["check", str(folder), "--format", "json", "--output", str(old)]) == 2
    assert main(["check", str(folder), "--baseline", str(old), "--new-only"]) == 2
    assert main(["diff", str(old), str(old)]) == 2


def test_waivers_of_everything_make_no_pass_of_it(write, tmp_path):
    folder = write(FITTED.replace("yes", "no"))
    config = tmp_path / "capcheck.toml"
    config.write_text('[[waiver]]\nrule = "*"\nreason = "seen"\nwho = "A"\nuntil = 9999-01-01\n')
    assert main(["check", str(folder), "--config", str(config), "--output", str(tmp_path / "out")]) == 2


@pytest.mark.parametrize(
    "choice",
    [Choice(), Choice(select=("part-named",)), Choice(select=("one-part-a-spot",))],
)
def test_rules_that_do_not_apply_or_find_nothing_are_ordinary(choice, write):
    report = check(write(FITTED), choice=choice)
    assert report.unanswered == ()
    assert report.totals.passed
    assert report.verdict != "unanswered"


def test_a_search_among_all_pairs_that_finds_none_is_an_answer_only_if_every_part_could_be_compared(write):
    spacing = Choice(select=("gap",))
    known, unknown = (
        check(write(FITTED), choice=spacing),
        check(write(FITTED.replace("RESC1608X55N", "")), choice=spacing),
    )
    assert (known.verdict, known.totals.passed) == ("pass", 1)
    assert (unknown.verdict, unknown.totals.passed) == ("warn", 0)
    assert [(f.subject.ref, f.undecided) for f in unknown.findings] == [("R1", True), ("R2", True)]


def test_what_is_waived_is_not_called_proved(write, tmp_path):
    folder = write(HEADER + "R1,10,10,0,top,10k,RESC1608X55N,yes\n")
    config = tmp_path / "capcheck.toml"
    config.write_text('[[waiver]]\nrule = "*"\nreason = "seen"\nwho = "A"\nuntil = 9999-01-01\n')
    report = check(folder, config=config, choice=None)
    assert report.verdict == "pass"
    assert "proved to fit" not in load_format("text").render(report)


def test_a_plan_of_a_board_that_is_not_answered_is_unanswered(write, tmp_path):
    assert plan([write(FITTED.replace("yes", "no"))], LINE).plan.verdict == "unanswered"
    good, empty = write(FITTED), tmp_path / "empty"
    empty.mkdir()
    (empty / "placements.csv").write_text(FITTED.replace("yes", "no"))
    output = tmp_path / "out"
    for form in ("text", "json", "html"):
        command = ["plan", str(good), str(empty), "--line", str(LINE), "--format", form, "--output", str(output)]
        assert main(command) == 2
        assert "unanswered" in output.read_text(encoding="utf-8").casefold()
    assert main(["compare", str(good), str(empty), "--line", str(LINE), "--line", str(LINE)]) == 2


def test_a_board_without_parts_breaks_no_rule(write):
    report = check(write("Ref,X (mm),Y (mm),Rotation,Side,Value\nFID1,1,1,0,top,Fiducial\n"))
    assert not report.answers.broken_rules
