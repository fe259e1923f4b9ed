"""Commands as a user types them: exit codes, streams, clear errors for bad input.

Figures: invented, or the digits of the text; an inch is 25.4 mm by definition.
"""

import json
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from capcheck.cli import build_parser
from capcheck.commands import commands


def test_the_demo_runs(run, shop):
    code, out, err = run("check", shop / "irrigation-controller", "--line", shop / "lines" / "mixed.line.toml")
    assert (code, err) == (0, "")
    assert out.splitlines()[-1].startswith("WARN: 0 fail")
    objections = {line.split(":")[0] for line in out.splitlines() if re.match(r"  [a-z-]+: ", line)}
    assert len(out.splitlines()) <= 70 + 4 * len(objections), "a rule costs some lines, what passes costs none"


def test_a_failing_board_ends_with_1(run, shop):
    code, out, _ = run("check", shop / "irrigation-controller", "--line", shop / "lines" / "chip.line.toml")
    assert code == 1
    assert "does not build" in out
    assert "Stops it" in out


def test_one_missing_datum_on_300_parts_is_one_line(run, make_board, make_line):
    rows = [f"L{n},{n % 20 * 5},{n // 20 * 5},0,top,10u,special" for n in range(1, 301)]
    board = make_board(rows, toml='mounting = { "L*" = "surface" }')
    line = make_line('name = "M"\n[[head]]\nname = "h"\nmax_part_height = "9 mm"\n')
    code, out, _ = run("check", board, "--line", line, "--select", "part-height")
    assert code == 0
    assert out.count("L1–L300") == 1
    assert "300 warn (300 of them undecided)" in out


BAD = [
    ("empty.csv", ["empty"]),
    ("no-header.csv", []),
    ("unknown-unit.csv", ["furlong"]),
    ("duplicate-references.csv", ["duplicate-references.csv:"]),
]


def test_one_cell_that_is_no_number_is_a_finding_on_its_part_and_the_others_are_answered(run, shop):
    code, out, err = run("check", "--placements", shop / "bad" / "text-for-number.csv", "--full")
    assert (code, err) == (1, "")
    assert (
        'R2 (10k 1% R1608M): X [mm] says "see drawing", which is not a coordinate (row 3 of text-for-number.csv)' in out
    )
    assert '"upright" is not an angle' in out


@pytest.mark.parametrize(("name", "said"), BAD)
def test_bad_placements_end_with_2_and_say_where_and_what(run, shop, name, said):
    code, out, err = run("check", "--placements", shop / "bad" / name)
    assert code == 2
    assert out == ""
    assert name in err
    assert "Traceback" not in err
    for text in said:
        assert text in err


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["--outline", "bad/open-outline.dxf"], ["open-outline.dxf", "open"]),
        (["--machine", "bad/wrong-key.machine.toml"], ["wrong-key.machine.toml:", "did you mean"]),
        (["--machine", "bad/syntax-error.machine.toml"], ["syntax-error.machine.toml:", "TOML"]),
        (["--rules", "bad/unknown-fact.toml"], ["unknown-fact.toml:", "did you mean"]),
        (["--rules", "bad/length-with-mass.toml"], ["length-with-mass.toml:", "a length", "a mass"]),
        (["--machine", "machines/none.machine.toml"], ["none.machine.toml", "no such"]),
        (["--bom", "none.csv"], ["none.csv"]),
        (["--select", "part-hight"], ["did you mean"]),
    ],
)
def test_other_bad_input_ends_with_2_and_says_where_and_what(run, shop, arguments, said):
    option, value = arguments
    path = value if option == "--select" else shop / value
    code, out, err = run("check", "--placements", shop / "irrigation-controller" / "placements.csv", option, path)
    assert (code, out) == (2, "")
    assert "Traceback" not in err
    for text in said:
        assert text in err


def test_a_missing_folder_and_wrong_usage_end_with_2(run, tmp_path):
    assert run("check", tmp_path / "nowhere")[0] == 2
    assert run("check", tmp_path)[0] == 2
    assert run("chekc")[0] == 2
    assert run()[0] == 2


def test_read_names_what_each_column_is_taken_for_and_those_that_nothing_takes(run, make_board):
    board = make_board(
        ["R1,1,2,0,top,10k,R1608"], bom=["Refs,Qty,Mfr part number,Part number,Packing,Revision", "R1,1,M-1,P-1,tape,B"]
    )
    _, out, _ = run("read", board)
    told = " ".join(out.split())
    assert 'further part number ← "Part number"; packaging ← "Packing"' in told
    assert 'no role: "Revision"' in told
    assert 'part number: from "Mfr part number" ("Part number" states other numbers' in told


def test_read_shows_files_columns_and_parts(run, shop):
    code, out, _ = run("read", shop / "flow-sensor")
    assert code == 0
    for text in ("Files", "semicolon", "reference ←", "Parts:"):
        assert text in out
    code, out, _ = run("read", shop / "flow-sensor", "--format", "json")
    data = json.loads(out)
    assert data["board"]["placements"] == len(data["parts"])
    assert "outcome" not in data["parts"][0]


def test_the_csv_of_the_parts_has_a_row_for_each_placement(run, shop):
    code, out, _ = run(
        "check", shop / "irrigation-controller", "--line", shop / "lines" / "mixed.line.toml", "--format", "csv"
    )
    assert code == 0
    assert len(out.splitlines()) == 274
    assert out.startswith("ref,kind,side,")


def test_rules_facts_and_explain_tell_the_same(run):
    rules = json.loads(run("rules", "--format", "json")[1])
    assert len(rules) >= 12
    facts = json.loads(run("facts", "--format", "json")[1])
    assert {"part.height", "head.max_part_height"} <= {fact["name"] for fact in facts}
    code, out, _ = run("explain", "part-height")
    assert code == 0
    entry = next(rule for rule in rules if rule["id"] == "part-height")
    for key in ("title", "why", "remedy", "basis"):
        assert entry[key][:40] in " ".join(out.split())
    assert "part-height" in run("explain", "part.height")[1]
    code, _, err = run("explain", "part-hight")
    assert code == 2
    assert 'did you mean "part-height"?' in err


def test_test_runs_the_examples_of_a_rule_file(run, shop, tmp_path):
    assert run("test")[0] == 0
    assert run("test", shop / "rules")[0] == 0
    text = (shop / "rules" / "shop.toml").read_text()
    wrong = tmp_path / "wrong.toml"
    wrong.write_text(text.replace('outcome = "pass"', 'outcome = "undecided"', 1))
    code, out, _ = run("test", wrong)
    assert code == 1
    assert "example 1" in out
    assert re.search(r"expected\W+undecided", out)
    assert re.search(r"(got|actual|came out)\W+pass", out)


def test_init_writes_files_that_load_and_overwrites_nothing(run, tmp_path, shop, monkeypatch):
    code, out, _ = run("init", tmp_path / "new")
    assert code == 0
    *written, hint = out.splitlines()
    assert all(Path(name).is_file() for name in written)
    schema = (tmp_path / "new" / "my-board" / "board.toml").read_text().splitlines()[0].removeprefix("#:schema ")
    assert (tmp_path / "new" / "my-board" / schema).is_file()
    code, _, err = run("init", tmp_path / "new")
    assert code == 2
    assert "is there already" in err
    # As the hint says: the configuration that was written holds for the board.
    shutil.copy(shop / "irrigation-controller" / "placements.csv", tmp_path / "new" / "my-board")
    (tmp_path / "new" / "capcheck.toml").write_text('line = "my.line.toml"\n')
    monkeypatch.chdir(tmp_path / "new")
    assert hint.endswith(f"capcheck check {tmp_path / 'new' / 'my-board'}")
    code, out, _ = run("check", "my-board")
    assert code in {0, 1}
    assert "no line was named" not in out
    assert "not obeyed" not in out


def test_init_in_the_folder_of_a_board_writes_what_is_obeyed_there(run, make_board):
    board = make_board(["R1,20,10,0,top,10k,RES 1608M"])
    (Path(board) / "board.toml").unlink(missing_ok=True)
    code, out, _ = run("init", board)
    assert code == 0
    assert [Path(name).name for name in out.split()] == ["board.toml", "board.schema.json"]


def test_every_commented_line_of_the_configuration_is_valid_when_taken_in(run, shop, tmp_path):
    from capcheck.shop.starting_files import templates

    head, rest = templates()["capcheck.toml"].split("\n\n", 1)
    file = tmp_path / "capcheck.toml"
    file.write_text(head + "\n\n" + re.sub(r"(?m)^# ", "", rest).replace("some-rule.most", "part-height.reserve"))
    text = file.read_text().replace("some-rule", "part-height")
    file.write_text(text.replace('line          = "my.line.toml"', f'line = "{shop / "lines" / "chip.line.toml"}"'))
    shutil.copytree(shop / "rules", tmp_path / "shop-rules")
    (tmp_path / "packages.csv").write_text("part number,height [mm]\nX1,1\n")
    code, out, err = run("check", shop / "flow-sensor", "--config", file, "--show-config")
    assert (code, err) == (0, "")
    assert "11 mm" in out


def test_what_is_in_force_is_shown_where_a_folder_of_rules_is_empty_or_missing(shop, run, tmp_path):
    (tmp_path / "empty").mkdir()
    for folder in (tmp_path / "empty", tmp_path / "missing"):
        code, out, _ = run("check", shop / "flow-sensor", "--rules", folder, "--show-config")
        assert code == 0
        assert str(folder) in out
        code, _, err = run("check", shop / "flow-sensor", "--rules", folder)
        assert code == 2
        assert str(folder) in err


def test_what_was_filled_in_is_used_at_the_next_run(run, make_board, make_line, tmp_path):
    board = make_board(
        ["U1,10,10,0,top,,mystery"], bom=["Refs,Part number", "U1,P-77"], toml='mounting = { U1 = "surface" }'
    )
    line = make_line('name = "M"\n[[head]]\nname = "h"\nmax_part_height = "9 mm"\n')
    asked = ("check", board, "--line", line, "--select", "part-height")
    assert "1 of them undecided" in run(*asked)[1]
    assert run("init", tmp_path / "lib", "--board", board)[0] == 0
    library = tmp_path / "lib" / "packages.csv"
    header, row = library.read_text().splitlines()[:2]
    titles = header.split(",")
    cells = row.split(",")
    height = next(i for i, title in enumerate(titles) if title.startswith("height"))
    cells[height] = "4.5"
    library.write_text(f"{header}\n{','.join(cells)}\n")
    out = run(*asked, "--library", library)[1]
    assert "PASS: 0 fail, 0 warn" in out


def test_output_is_written_whole(run, shop, tmp_path):
    target = tmp_path / "report.json"
    line = shop / "lines" / "mixed.line.toml"
    code, out, _ = run("check", shop / "irrigation-controller", "--line", line, "--format", "json", "--output", target)
    assert (code, out) == (0, "")
    assert json.loads(target.read_text())["verdict"] == "warn"
    assert [p.name for p in tmp_path.iterdir() if p.suffix == ".tmp"] == []
    code, _, err = run("check", shop / "irrigation-controller", "--output", tmp_path / "no" / "where.txt")
    assert code == 2
    assert "cannot be written" in err


def test_version_and_help_import_nothing_heavy():
    code = (
        "import sys\nfrom capcheck.cli import main\n"
        "main(['--version']); main(['--help'])\n"
        "heavy = {'numpy', 'pydantic', 'pint', 'rich', 'shapely', 'ezdxf', 'pytest'} & set(sys.modules)\n"
        "sys.exit(f'loaded {heavy}' if heavy else 0)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr


def test_a_reader_that_goes_away_is_no_error():
    command = f"{sys.executable} -m capcheck facts | head -n 1"
    done = subprocess.run(["bash", "-c", f"set -o pipefail; {command}"], capture_output=True, text=True, check=False)
    assert "Traceback" not in done.stderr
    assert "BrokenPipe" not in done.stderr


def test_one_table_is_not_compared_with_itself(run, shop):
    file = shop / "irrigation-controller" / "placements.csv"
    code, _, err = run("check", "--placements", file, "--bom", file)
    assert code == 2
    assert "as placements and as bill of materials" in err


def test_a_waiver_of_a_rule_that_does_not_exist_is_an_error(run, make_board, tmp_path, monkeypatch):
    # An invented part; no size is asked.
    board = make_board(["C1,10,10,0,top,1u,CAPC1005X55N"])
    monkeypatch.chdir(tmp_path)
    (tmp_path / "capcheck.toml").write_text(
        '[[waiver]]\nrule = "board-widht"\nreason = "r"\nwho = "w"\nuntil = 2099-01-01\n'
    )
    code, _, err = run("check", board)
    assert code == 2
    assert 'did you mean "board-width"?' in err


def test_the_board_is_sized_in_the_unit_that_is_asked_for(run, shop):
    out = run(
        "check", shop / "flow-sensor", "--machine", shop / "machines" / "chip-placer.machine.toml", "--units", "inch"
    )[1]
    assert "board 2.7559 × 2.1654 inch" in out


def test_what_a_waiver_accepts_is_told_with_its_reason(run, shop, tmp_path):
    config = tmp_path / "capcheck.toml"
    config.write_text(
        '[[waiver]]\nrule = "*"\npart = "J14"\nreason = "by hand"\nwho = "A. Reviewer"\nuntil = 9999-01-01\n'
    )
    asked = ("check", shop / "irrigation-controller", "--line", shop / "lines" / "chip.line.toml", "--config", config)
    for form in ("text", "markdown"):
        out = run(*asked, "--format", form)[1]
        assert "Accepted by a waiver" in out
        assert "by hand (A. Reviewer, until 9999-01-01)" in out.replace("\\", "")


def test_explain_tells_what_a_configuration_changed(run, tmp_path):
    config = tmp_path / "capcheck.toml"
    config.write_text('[limits]\nfiducial-count.least = 3\n[outcomes]\nfiducial-count = "warn"\n')
    out = run("explain", "fiducial-count", "--config", config)[1]
    assert "warn (changed; ships as fail)" in out
    assert "(changed; ships as 2)" in out
    assert "examples, for the limits as written in the rule" in out


def test_a_rule_with_the_id_of_one_that_ships_is_refused_by_its_own_test_as_well(run, tmp_path):
    shipped = (Path(__file__).parents[1] / "rules" / "board.toml").read_text()
    (tmp_path / "own.toml").write_text(shipped)
    code, _, err = run("test", tmp_path)
    assert code == 2
    assert "own.toml" in err
    assert "board-length" in err


@pytest.mark.parametrize(
    ("command", "board", "sign"),
    # The plan shown is one that is proved in a second: of a larger board a slower machine finds another one.
    [("check", "irrigation-controller", "For review"), ("plan", "flow-sensor", "Plan of")],
)
def test_the_readme_shows_what_the_demo_prints(run, shop, command, board, sign):
    readme = (Path(__file__).parents[1] / "README.md").read_text(encoding="utf-8")
    (shown,) = (b for b in re.findall(r"(?ms)^```text\n(.*?)^```$", readme) if sign in b)
    words = ["--line", shop / "lines" / "mixed.line.toml", *(["--sums"] if command == "plan" else [])]
    printed = run(command, shop / board, *words)[1]

    def in_words(text):
        """Return the lines without their numbers, which change with every rule that is added."""
        return [re.sub(r"[\d.]+", "#", line) for line in text.splitlines() if line.strip() != "…"]

    assert [line for line in in_words(shown) if line not in in_words(printed)] == []


def test_the_readme_shows_the_picture_that_the_demo_draws(run, shop):
    """Made anew by ``check fixtures/irrigation-controller --line fixtures/lines/mixed.line.toml --format svg``."""
    readme = (Path(__file__).parents[1] / "README.md").read_text(encoding="utf-8")
    assert "(fixtures/irrigation-controller.svg)" in readme
    shown = (shop / "irrigation-controller.svg").read_text(encoding="utf-8")
    line = shop / "lines" / "mixed.line.toml"
    assert run("check", shop / "irrigation-controller", "--line", line, "--format", "svg")[1] == shown


def test_the_readme_opens_with_the_job_and_what_comes_of_it_before_any_command():
    readme = (Path(__file__).parents[1] / "README.md").read_text(encoding="utf-8")
    job, screen, picture, command = map(readme.index, ("capcheck tells", "```text", "](fixtures/", "```sh"))
    assert job < screen < picture < command
    assert "\n#" not in readme[job:picture]


def test_all_of_a_long_output_reaches_a_pipe(run, shop):
    arguments = ["check", str(shop / "irrigation-controller"), "--format", "json"]
    piped = subprocess.run([sys.executable, "-m", "capcheck", *arguments], capture_output=True, check=False)
    code, out, _ = run(*arguments)
    assert (piped.returncode, json.loads(piped.stdout)) == (code, json.loads(out))
    assert len(piped.stdout) > 100_000


@pytest.mark.parametrize("target", [".", "/dev/null/x", "x" * 300])
def test_an_output_that_cannot_be_written_is_told(run, shop, target):
    code, out, err = run("check", shop / "flow-sensor", "--output", target)
    assert (code, out) == (2, "")
    assert "cannot be written" in err
    assert "Traceback" not in err


@pytest.mark.parametrize("arguments", [["--version"], ["check", "flow-sensor"]])
def test_a_full_disk_is_told(shop, arguments):
    with open("/dev/full", "w") as full:  # noqa: PTH123  a device, not a path
        told = subprocess.run(
            [sys.executable, "-m", "capcheck", *arguments], stdout=full, stderr=subprocess.PIPE, check=False, cwd=shop
        )
    assert told.returncode == 2
    assert b"cannot be written" in told.stderr
    assert b"Traceback" not in told.stderr


def test_every_command_is_found_alone_as_among_all():
    every = commands()
    assert [command.name for command in every] == sorted({c.name for c in every}, key=[c.name for c in every].index)
    for command in every:
        assert commands(command.name) == (command,)
    assert commands("no such command") == every


ORDERS = [
    ["lists", "pin-1", "--format", "csv", "{board}"],
    ["lists", "--format", "csv", "pin-1", "{board}"],
    ["part", "R1", "--format", "json", "{board}"],
    ["part", "--format", "json", "R1", "{board}"],
    ["read", "--format", "csv", "{board}"],
    ["check", "--select", "in-bom", "--format", "lines", "{board}"],
    ["check", "--format", "lines", "{board}", "--select", "in-bom"],
    ["check", "{board}", "--format", "lines", "--select", "in-bom", "{board}"],
    ["init", "--board", "{board}", "{folder}"],
]


@pytest.mark.parametrize("arguments", ORDERS, ids=" ".join)
def test_options_may_stand_before_what_they_are_about(run, make_board, tmp_path, arguments):
    # An invented part; no size is asked.
    board = make_board(["R1,5,5,0,top,1k,RESC2012X55N"], bom=["Refs,Part number", "R1,RC-1"])
    given = [str(a).format(board=board, folder=tmp_path / "new") for a in arguments]
    code, _, err = run(*given)
    assert "unrecognized" not in err
    assert code in {0, 1}, err


def test_every_command_takes_its_first_argument_behind_an_option():
    """An option of the command that takes a value, then what argparse would call a positional."""
    for command in commands():
        parser = build_parser(command.name)
        (chosen,) = [a.choices[command.name] for a in parser._actions if a.dest == "command"]
        named = [a for a in chosen._actions if not a.option_strings]
        options = [a for a in chosen._actions if a.option_strings and a.nargs is None and a.metavar]
        option = max(options, key=lambda a: a.required, default=None)
        if not named or option is None or option.type is not None or option.choices:
            continue
        words = [next(iter(a.choices)) if a.choices else "WORD" for a in named]
        for place in range(len(words) + 1):
            mixed = [*words[:place], option.option_strings[0], "VALUE", *words[place:]]
            parsed = parser.parse_args([command.name, *mixed])
            assert "VALUE" in str(getattr(parsed, option.dest)), mixed
            for action in named:
                assert "WORD" in str(vars(parsed)[action.dest]) or action.choices, mixed


def test_behind_two_dashes_nothing_is_an_option(run, make_board, monkeypatch):
    # An invented part; no size is asked.
    board = make_board(["R1,5,5,0,top,1k,RESC2012X55N"])
    monkeypatch.chdir(board.parent)
    board.rename(board.parent / "--odd")
    code, _, err = run("read", "--", "--odd")
    assert (code, err) == (0, "")


@pytest.mark.parametrize("options", [[], ["--no-config"]])
def test_a_name_that_begins_with_a_hyphen_stands_behind_two_dashes_after_options_too(run, make_board, options):
    # Invented parts.
    board = make_board(["R1,5,5,0,top,1k,RESC2012X55N"])
    code, _, err = run("part", *options, "--", "-AB-1", str(board))
    assert code == 2
    assert '"-AB-1" is not among the placements' in err


def test_so_does_one_of_several_names(run, tmp_path):
    code, _, err = run("library", "show", "--store", str(tmp_path / "none.db"), "--", "-AB-1", "--x")
    assert code == 2
    assert "none.db" in err
    assert "unrecognized" not in err


def test_an_argument_that_is_no_option_says_where_such_a_name_stands(run):
    code, _, err = run("library", "show", "-AB-1")
    assert code == 2
    assert "stands behind --" in err
