"""Every text keeps to the width that is asked for: that of the terminal, or COLUMNS where it goes to a pipe.

Figures: those of the invented shop.
"""

from capcheck.machines import read_line
from capcheck.report import questions_asked, survey_text
from capcheck.report.plan import count
from capcheck.shop import Settings
from capcheck.survey import Surveyor, survey

DEMO, SMALL = "irrigation-controller", "flow-sensor"
LINE, SECOND = "lines/mixed.line.toml", "lines/full.line.toml"
TEXTS = (
    ("check", DEMO, "--line", LINE),
    ("check", DEMO, "--line", LINE, "--full"),
    ("check", SMALL, "--line", LINE, "--quiet"),
    ("read", DEMO),
    ("part", "U5", DEMO),
    ("plan", SMALL, "--line", LINE),
    ("plan", SMALL, "--line", LINE, "--format", "quote"),
    ("compare", SMALL, "--line", LINE, "--line", SECOND),
    *(("lists", which, DEMO) for which in ("order", "pin-1", "handling", "test-points")),
    ("lists", "nozzles", SMALL, "--line", LINE),
    ("needs", SMALL),
    ("rules",),
    ("facts",),
    ("explain", "gap"),
    ("check", "--help"),
)


def test_a_text_in_a_pipe_is_as_wide_as_columns_says(run, shop, monkeypatch):
    monkeypatch.setenv("COLUMNS", "100")
    for command, *more in TEXTS:
        arguments = [command, *(shop / a if (shop / a).exists() else a for a in more)]
        _, out, err = run(*arguments)
        assert len(out.splitlines()) > 2, (arguments, err)
        assert [line for line in out.splitlines() if len(line) > 100] == [], arguments
        assert command != "facts" or "**" not in out


def test_what_columns_says_counts_within_reason_and_not_for_a_file(run, shop, monkeypatch, tmp_path):
    board = ("check", shop / DEMO, "--line", shop / LINE)
    widths = {}
    for said in ("", "wide", "1", "100", "9999"):
        monkeypatch.setenv("COLUMNS", said)
        widths[said] = max(map(len, run(*board)[1].splitlines()))
    assert widths[""] == widths["wide"] <= 120
    assert widths["1"] < widths["100"] <= 100 < widths["9999"] <= 140
    run(*board, "--output", tmp_path / "report.txt")
    assert max(map(len, (tmp_path / "report.txt").read_text(encoding="utf-8").splitlines())) > 100


def test_a_survey_keeps_to_its_width_and_loses_no_figure(shop):
    for lines in ([LINE], [LINE, SECOND]):
        surveyor = Surveyor.prepared(
            Settings(), [read_line(shop / one) for one in lines], questions_asked, plan_seconds=0
        )
        found = survey([shop / SMALL, shop / "light-strip"], surveyor)
        for width in (140, 120, 100, 60):
            text = survey_text(found, width)
            assert max(map(len, text.splitlines())) <= width
            told = " ".join(text.split())
            for board in found.boards:
                assert board.name in told
                for result in board.on:
                    assert f"{count(result.slots_needed)} of {count(result.slots)}" in told
                    assert str(result.parts) in told.replace(",", " ").split()
