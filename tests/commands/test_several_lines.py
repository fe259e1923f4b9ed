"""A board against several lines: each answers in short, and none is left out.

Figures: invented, those of fixtures/.
"""

import re

import pytest

LINES = {"full": "Line 3, full", "mixed": "Line 1, mixed", "chip": "Line 2, chips"}


def test_each_line_has_its_verdict_and_what_all_ask_stands_once(run, shop):
    named = [part for name in LINES for part in ("--line", shop / "lines" / f"{name}.line.toml")]
    code, out, err = run("check", shop / "irrigation-controller", *named)
    verdicts = re.findall(r"(?m)^(PASS|WARN|FAIL)  Irrigation controller on (.*?): ", out)
    assert [line for _, line in verdicts] == list(LINES.values())
    heads = re.split(r"(?m)^(?=(?:PASS|WARN|FAIL)  )", out)[1:]
    for name, head in zip(LINES, heads, strict=True):
        own, whole, _ = run("check", shop / "irrigation-controller", "--line", shop / "lines" / f"{name}.line.toml")
        assert whole.startswith(head[:4])
        assert ("stops it:" in head) == (own == 1)
    assert (code, err) == (1, "")
    assert out.count("Ask before anything starts") == out.count("Nominal check of data") == 1


def test_quiet_leaves_verdicts_and_what_fails(run, shop):
    named = [part for name in LINES for part in ("--line", shop / "lines" / f"{name}.line.toml")]
    code, out, _ = run("check", shop / "irrigation-controller", *named, "--quiet")
    assert re.findall(r"(?m)^(?:PASS|WARN|FAIL)  Irrigation controller on (.*?): ", out) == list(LINES.values())
    assert "Ask before" not in out
    assert "feeder slots" not in out
    assert (code, out.count("Nominal check")) == (1, 1)


def test_units_hold_on_each_line_and_what_is_not_obeyed_is_told(run, shop, make_board, tmp_path, monkeypatch):
    """The inch is 25.4 mm by definition."""
    board = make_board(["R1,10,10,0,top,10k,R_0603"], toml='length = "50.8 mm"\nwidth = "25.4 mm"\n')
    (board / "capcheck.toml").write_text("strict = true\n")
    (tmp_path / "capcheck.toml").write_text('units = "mil"\n')
    named = [part for name in LINES for part in ("--line", shop / "lines" / f"{name}.line.toml")]
    monkeypatch.chdir(tmp_path)
    _, out, err = run("check", "board", *named)
    assert re.findall(r"board (.*? mil)", out) == ["2000 × 1000 mil"] * len(LINES), out
    assert "not obeyed" in err


@pytest.mark.rows(
    ("command", "more"),
    [
        ("plan", ()),
        ("lists", ("nozzles",)),
        ("check", ("--format", "json")),
        ("check", ("--output", "report.html")),
        ("check", ("--full",)),
    ],
)
def test_what_is_of_one_line_refuses_a_second_one(command, more, run, shop):
    line = shop / "lines" / "full.line.toml"
    code, out, err = run(command, *more, shop / "flow-sensor", "--line", line, "--line", shop / "lines" / "x.line.toml")
    assert (code, out) == (2, "")
    assert "--line" in err
    assert "one" in err
