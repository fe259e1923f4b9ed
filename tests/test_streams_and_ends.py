"""How a run ends: 2 for whatever was not foreseen, UTF-8 whatever the locale, nothing obeyed by a terminal.

Figures: invented, or the digits of the text; an inch is 25.4 mm by definition.
"""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest
from depth import sample_of

ROOT = Path(__file__).parents[1]
BOARD = ROOT / "fixtures" / "flow-sensor"
LINE = ROOT / "fixtures" / "lines" / "mixed.line.toml"
HEADER = "Ref,X [mm],Y [mm],Rotation,Side,Value,Footprint\n"


def capcheck(*arguments, then="", cwd=None, **environment):
    command = [sys.executable, "-m", "capcheck", *map(str, arguments)]
    if then:
        command = ["bash", "-c", f'"$@" {then}', "bash", *command]
    return subprocess.run(
        command,
        capture_output=True,
        check=False,
        timeout=60,
        cwd=cwd,
        env={**os.environ, "PYTHONPATH": str(ROOT), **environment},
    )


UNFORESEEN = [
    MemoryError(),
    RecursionError("deep"),
    OverflowError("x"),
    UnicodeError("\x1b[2J"),
    KeyError("k"),
    SystemExit(0),
    AssertionError(),
    ZeroDivisionError("z"),
    OSError(5, "Input/output error"),
]


@pytest.mark.parametrize("error", UNFORESEEN)
def test_whatever_is_not_foreseen_ends_with_2_the_file_and_what_to_do(run, monkeypatch, error):
    def broken(*_, **__):
        raise error

    monkeypatch.setattr("capcheck.checking.check_prepared", broken)
    code, out, err = run("check", BOARD)
    assert (code, out) == (2, "")
    assert err.startswith(f"{BOARD}: ")
    assert err.count("\n") == 1
    assert "; look whether" in err
    assert "Traceback" not in err
    assert "\x1b" not in err
    monkeypatch.setenv("CAPCHECK_TRACEBACK", "1")
    assert "Traceback" in run("check", BOARD)[2]


def test_an_interruption_ends_with_130(run, monkeypatch):
    def broken(*_, **__):
        raise KeyboardInterrupt

    monkeypatch.setattr("capcheck.checking.check_prepared", broken)
    assert run("check", BOARD) == (130, "", "")


def test_a_reader_that_breaks_names_its_file(run, monkeypatch):
    def broken(*_, **__):
        raise IndexError("list index out of range")

    monkeypatch.setattr("capcheck.intake.opened.read_tables", broken)
    file = BOARD / "placements.csv"
    code, _, err = run("check", "--placements", file)
    assert code == 2
    assert err.startswith(f"{file}: ")
    assert "IndexError" in err


def rows(*cells):
    return f"{HEADER}{','.join(cells)}\n".encode()


def machine(height):
    return f'name = "m"\n[[head]]\nname = "h"\nmax_part_height = {height}\n'.encode()


def rule(require):
    keys = 'id="a"\ntitle="t"\nsubject="part"\nmessage="m"\nwhy="w"\nremedy="r"\nbasis="b"'
    return f'[[rule]]\n{keys}\nrequire = "{require}"\n'.encode()


def report(findings):
    return f'{{"schema": "capcheck-report/1", "findings": {findings}}}'.encode()


DIGITS = "9" * 5000
UNKNOWN_OUTCOME = (
    '[{"rule": "a", "subject": {"kind": "board"}, "outcome": "maybe", "undecided": false, "waived": false,'
    ' "message": ""}]'
)
PLACED = ("check", "--placements", "{}")
CONFIGURED = ("rules", "--config", "{}")
ON_MACHINE = ("check", str(BOARD), "--machine", "{}")
COMPARED = ("check", str(BOARD), "--baseline", "{}")
WITH_LIBRARY = ("check", str(BOARD), "--library", "{}")
WITH_REELS = ("plan", str(BOARD), "--line", str(LINE), "--reels", "{}")
DAMAGED = [
    ("p.xls", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"\xff" * 3000, PLACED),
    ("p.xlsx", b"PK\x03\x04" + b"\x00" * 300, PLACED),
    ("p.csv", rows("R1", "5 kg", "3", "0", "top"), PLACED),
    ("p.csv", rows("R1", DIGITS, "3", "0", "top"), PLACED),
    ("p.csv", rows("R1", "1e999", "3", "0", "top"), PLACED),
    ("p.csv", rows("R1", "nan", "inf", "-inf", "top"), PLACED),
    ("c.toml", b"a = " + b"[" * 20_000, CONFIGURED),
    ("c.toml", b"a = " + b"{b=" * 5_000, CONFIGURED),
    ("c.toml", b"[" + b"a." * 5_000 + b"a]\n", CONFIGURED),
    ("c.toml", f"product_class = {DIGITS}".encode(), CONFIGURED),
    ("c.toml", b'board = "\xe9"', CONFIGURED),
    ("m.machine.toml", machine(DIGITS), ON_MACHINE),
    ("m.machine.toml", machine("nan"), ON_MACHINE),
    ("m.machine.toml", machine(f'"{DIGITS} mm"'), ON_MACHINE),
    ("b.json", b"[" * 100_000, COMPARED),
    ("b.json", f'{{"schema": {DIGITS}'.encode(), COMPARED),
    ("b.json", report(UNKNOWN_OUTCOME), COMPARED),
    ("b.json", report("3"), ("diff", "{}", "{}")),
    ("b.json", report('[{"rule": 1}]'), ("diff", "{}", "{}")),
    ("r.csv", f"part number,parts per container\nA,{DIGITS}\n".encode(), WITH_REELS),
    ("r.csv", b'part number,parts per container\nA,"' + b"9" * 200_000, WITH_REELS),
    ("l.xlsx", b"PK\x03\x04" + b"\xff" * 300, WITH_LIBRARY),
    ("l.csv", b'part number,height [mm]\n"' + b"x" * 200_000, WITH_LIBRARY),
    ("r.toml", rule("(" * 5000 + "1"), ("test", "{}")),
    ("r.toml", rule("not " * 5000 + "True"), ("test", "{}")),
    ("r.toml", rule(f"part.pins < {DIGITS}"), ("test", "{}")),
]


@pytest.mark.parametrize(("name", "content", "command"), DAMAGED)
def test_a_damaged_file_ends_with_2_and_its_name(run, tmp_path, monkeypatch, name, content, command):
    monkeypatch.chdir(tmp_path)
    Path(name).write_bytes(content)
    code, _, err = run(*(name if word == "{}" else word for word in command))
    assert code == 2, err
    assert name in err
    assert "Traceback" not in err


FILES = {
    "--config": "rules",
    "--baseline": "check",
    "--line": "check",
    "--machine": "check",
    "--library": "check",
    "--placements": "check",
    "--bom": "check",
    "--outline": "check",
    "--rules": "check",
}


@pytest.mark.parametrize("option", FILES)
@pytest.mark.parametrize("kind", ["folder", "missing", "long", "binary"])
def test_no_option_is_broken_by_what_is_no_file_of_its_kind(run, tmp_path, option, kind):
    (tmp_path / "folder").mkdir()
    (tmp_path / "binary").write_bytes(bytes(range(256)) * 20)
    named = tmp_path / ("n" * 300 if kind == "long" else kind)
    board = [BOARD] if FILES[option] == "check" else []
    code, _, err = run(FILES[option], *board, option, named)
    assert code == 2
    assert named.name in err
    assert "not foreseen" not in err


@pytest.mark.parametrize("option", [*FILES, "--reels"])
def test_a_device_and_a_pipe_are_read_by_no_option(run, tmp_path, option):
    os.mkfifo(tmp_path / "pipe")
    for named in ("/dev/zero", tmp_path / "pipe"):
        board = [BOARD] if option == "--reels" or FILES[option] == "check" else []
        command = ["plan", "--line", LINE] if option == "--reels" else [FILES[option]]
        code, _, err = run(*command, *board, option, named)
        assert code == 2
        assert f"{named}: is a device or a pipe" in err


def test_a_path_that_is_too_long_or_holds_a_null_is_told(run):
    for path in ("n" * 300, "a\0b"):
        code, _, err = run("check", path)
        assert code == 2
        assert "\0" not in err


@pytest.mark.parametrize(
    "environment",
    [
        {"LC_ALL": "C", "PYTHONCOERCECLOCALE": "0", "PYTHONUTF8": "0"},
        {"LC_ALL": "C", "PYTHONIOENCODING": "ascii"},
        {"PYTHONIOENCODING": "latin-1"},
        {"PYTHONIOENCODING": "cp1252:strict"},
        {"PYTHONIOENCODING": "utf-16"},
    ],
)
@pytest.mark.parametrize(
    "form", sample_of(["text", "json", "html", "lines", "markdown", "questions", "svg", "csv", "junit"], 3)
)
def test_output_is_utf_8_whatever_the_locale(forked, tmp_path, environment, form):
    (tmp_path / "p.csv").write_text(f"{HEADER}Größe1,1,1,0,top,10 kΩ ₽ 抵抗,mystery\n", encoding="utf-8")
    asked = ("capcheck", "check", "--placements", tmp_path / "p.csv", "--line", LINE, "--format", form)
    here = forked(*asked, started=tuple(environment.items()))
    usual = forked(*asked, started=(("PYTHONUTF8", "1"),))
    assert here.stdout.decode("utf-8") == usual.stdout.decode("utf-8")
    assert (here.returncode, here.stderr) == (usual.returncode, usual.stderr)


def test_errors_are_utf_8_too_and_a_name_that_is_none_is_shown():
    for name in ("größe.csv", b"\xff\xfe.csv".decode("utf-8", "surrogateescape")):
        told = capcheck("check", "--placements", name, PYTHONIOENCODING="ascii", LC_ALL="C.UTF-8")
        assert told.returncode == 2
        assert b"Traceback" not in told.stderr
        told.stderr.decode("utf-8")


@pytest.mark.rows("then", [">&-", "> /dev/full", "2>&- >&-", "<&- >&-", "| :; exit ${PIPESTATUS[0]}"])
@pytest.mark.rows("asked", [("check", BOARD, "--format", "json"), ("--version",)])
def test_a_report_that_does_not_arrive_is_no_pass_and_no_fail(then, asked):
    told = capcheck(*asked, then=then)
    assert told.returncode == 2
    assert b"Traceback" not in told.stderr
    assert b"Exception ignored" not in told.stderr


def test_an_output_that_is_closed_is_told_of_several_boards_as_of_one():
    done = capcheck("check", BOARD, ROOT / "fixtures" / "light-strip", "--line", LINE, then=">&-")
    assert done.returncode == 2
    assert done.stderr.startswith(b"standard output: cannot be written")


def test_a_closed_output_is_not_missed_where_a_file_is_named(tmp_path):
    target = tmp_path / "r.json"
    told = capcheck("read", BOARD, "--format", "json", "--output", target, then="<&- >&- 2>&-")
    assert told.returncode == 0
    assert target.read_text(encoding="utf-8").startswith("{")


ESCAPES = "\x1b[2J\x1b]0;x\x07\u202e\x9b31m"
SIGNS = ("\x1b[2J", "\x07", "\u202e", "\u2066", "\x9b31m")


def spiteful(folder, sign):
    """Write a board with a control sequence in references, texts and the name of the file; one with all is no text."""
    # Invented parts; no size is asked.
    chips = "".join(f"R{n},{3 * n},5,0,top,10k,RESC1608X50N\n" for n in range(1, 12))
    spite = f"U1,1,30,0,top,v{sign},QFP50P900X900X160-48\nU{sign}2,9,20,0,top,v{sign},f{sign}\n"
    (folder / f"p{sign}.csv").write_text(HEADER + chips + spite, encoding="utf-8")


def obeyed(*texts):
    return [sign for sign in "\x1b\x07\u202e\u2066\x9b" if any(sign in text for text in texts)]


@pytest.mark.parametrize("sign", SIGNS)
@pytest.mark.parametrize("form", ["lines", "text", "markdown", "github", "questions"])
def test_nothing_in_a_report_is_obeyed_by_a_terminal(run, tmp_path, form, sign):
    spiteful(tmp_path, sign)
    code, out, err = run("check", tmp_path, "--line", LINE, "--format", form)
    assert code in {0, 1}, err
    assert obeyed(out, err) == []


@pytest.mark.parametrize(
    "asked",
    [
        ("check", ESCAPES),
        ("check", BOARD, "--line", ESCAPES),
        ("check", BOARD, "--select", ESCAPES),
        ("check", BOARD, "--format", ESCAPES),
        ("check", BOARD, f"--{ESCAPES}"),
        (ESCAPES,),
        ("explain", ESCAPES),
        ("part", ESCAPES, BOARD),
        ("plan", f"a={ESCAPES}", "--line", LINE),
        ("plan", BOARD, "--line", LINE, "--time-limit", ESCAPES),
        ("check", BOARD, "--output", f"/no/{ESCAPES}"),
        ("init", f"/dev/null/{ESCAPES}"),
    ],
)
def test_nothing_in_an_error_is_obeyed_by_a_terminal(run, asked):
    code, out, err = run(*asked)
    assert code == 2
    assert obeyed(out, err) == []


@pytest.mark.parametrize("sign", SIGNS)
def test_a_plan_a_part_and_a_difference_show_escapes_too(run, tmp_path, sign):
    spiteful(tmp_path, sign)
    line = ROOT / "fixtures" / "lines" / "full.line.toml"
    new, old = tmp_path / "new.json", tmp_path / "old.json"
    run("check", tmp_path, "--line", line, "--format", "json", "--output", new)
    old.write_text('{"schema": "capcheck-report/1", "findings": []}')
    for asked in (
        ("plan", tmp_path, "--line", line, "--time-limit", "1"),
        ("part", "U1", tmp_path),
        ("part", f"U{sign}2", tmp_path),
        ("diff", old, new),
        ("read", tmp_path),
    ):
        _, out, err = run(*asked)
        assert out, err
        assert obeyed(out, err) == [], asked


def test_a_library_s_own_configuration_in_the_customer_s_folder_is_not_obeyed(tmp_path):
    for name, text in (("ezdxf.ini", b"\xff\xfe[core"), ("numpy.py", b"raise SystemExit(0)"), ("typing.py", b"1/0")):
        (tmp_path / name).write_bytes(text)
    for file in (ROOT / "fixtures" / "irrigation-controller").iterdir():
        (tmp_path / file.name).write_bytes(file.read_bytes())
    told = capcheck("check", ".", "--line", LINE, cwd=tmp_path)
    assert told.returncode == 0, told.stderr
    assert told.stderr == b""
