"""``diff`` as typed: reports, folders, archives and git revisions, every format, every exit code.

Figures: invented, or the digits of the text; an inch is 25.4 mm by definition.
"""

import json
import os
import shutil
import subprocess
import zipfile

import jsonschema
import pytest

from capcheck.report import difference_schema

MIL_MM = 0.0254  # international inch, by definition
HEADER = "Ref,X [mm],Y [mm],Rotation,Side,Value,Footprint"
ROWS = [f"R{n},{5 * n},{10 + n % 3},0,top,10k,RES 1608M" for n in range(1, 9)]
DRIVER = "U1,20,30,0,top,driver,SOIC-8"
QUIET = {**os.environ, "GIT_CONFIG_GLOBAL": os.devnull, "GIT_CONFIG_NOSYSTEM": "1"}


def write(folder, rows, toml=""):
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "placements.csv").write_text("\n".join([HEADER, *rows]) + "\n")
    (folder / "board.toml").write_text(f'placements = "placements.csv"\n{toml}')
    return folder


def git(folder, *arguments):
    who = ("-c", "user.name=A", "-c", "user.email=a@example.com")
    done = subprocess.run(["git", *who, *arguments], cwd=folder, env=QUIET, capture_output=True, check=True, text=True)
    return done.stdout.strip()


@pytest.fixture
def old(tmp_path):
    return write(tmp_path / "old", [*ROWS, DRIVER])


@pytest.fixture
def new(tmp_path):
    return write(tmp_path / "new", [*ROWS, DRIVER.replace(",0,top", ",90,top")])


@pytest.fixture
def repository(tmp_path):
    """A repository with two revisions of a board: the driver is turned in the second."""
    top = tmp_path / "repository"
    board = write(top / "boards" / "controller", [*ROWS, DRIVER])
    git(top, "init", "-q", "-b", "main")
    git(top, "add", "-A")
    git(top, "commit", "-qm", "first")
    write(board, [*ROWS, DRIVER.replace(",0,top", ",90,top")])
    git(top, "commit", "-qam", "second")
    return top


def parts(out):
    return [(p["changes"], (p["new"] or p["old"])["ref"]) for p in json.loads(out)["data"]["parts"]]


def test_a_driver_turned_by_a_quarter_is_told_and_fails_nothing(run, old, new):
    code, out, _ = run("diff", old, new)
    assert code == 0
    assert "Turned\n  U1: by 90° counter-clockwise (0° → 90°)\n" in out
    assert out.splitlines()[-1].startswith("0 new, 0 worse, 0 gone, ")


def test_an_origin_that_moved_is_one_line(run, tmp_path, old):
    def shifted(row):
        ref, x, y, *rest = row.split(",")
        return ",".join([ref, str(float(x) + 12.7), str(float(y) - 3), *rest])

    _, out, _ = run("diff", old, write(tmp_path / "new", [shifted(row) for row in [*ROWS, DRIVER]]))
    assert "origin of the files shifted by x +12.7, y −3 mm, or all parts moved: without an outline" in " ".join(
        out.split()
    )
    assert "Moved" not in out
    assert "no change in the data, but for the origin: 9 rows compared" in out


def test_two_git_revisions_are_compared_and_nothing_is_checked_out(run, repository, monkeypatch):
    (repository / "boards" / "controller" / "placements.csv").write_text("being edited")
    before = git(repository, "status", "--porcelain"), git(repository, "stash", "list")
    monkeypatch.chdir(repository)
    code, out, _ = run("diff", "HEAD~1:boards/controller", "HEAD:boards/controller", "--format", "json")
    assert (code, parts(out)) == (0, [(["turned"], "U1")])
    assert json.loads(out)["old_revision"] == {
        "name": "HEAD~1:boards/controller",
        "form": "git",
        "board": "controller",
        "line": None,
    }
    assert (git(repository, "status", "--porcelain"), git(repository, "stash", "list")) == before


def test_a_folder_at_a_revision_is_named_from_the_working_directory_and_may_be_gone_since(run, repository, monkeypatch):
    shutil.rmtree(repository / "boards" / "controller")
    monkeypatch.chdir(repository / "boards")
    code, out, _ = run("diff", "main~1:controller", "main:controller", "--format", "json")
    assert (code, parts(out)) == (0, [(["turned"], "U1")])


def test_a_revision_and_the_folder_as_it_is_now(run, repository, monkeypatch):
    monkeypatch.chdir(repository / "boards" / "controller")
    write(repository / "boards" / "controller", [*ROWS[1:], DRIVER])
    _, out, _ = run("diff", "HEAD:.", ".", "--format", "json")
    assert parts(out) == [(["turned"], "U1"), (["removed"], "R1")]


def test_a_repository_sets_nothing_that_runs_and_a_link_leads_nowhere(run, repository, tmp_path, monkeypatch):
    trace, board = tmp_path / "ran", repository / "boards" / "controller"
    spy = tmp_path / "spy"
    spy.write_text(f"#!/bin/sh\ntouch {trace}\ncat\n")
    spy.chmod(0o755)
    (tmp_path / "secret.csv").write_text("Ref,Part number\nU1,secret\n")
    (board / "bom.csv").symlink_to(tmp_path / "secret.csv")
    (board / ".gitattributes").write_text("* filter=spy diff=spy\n")
    git(repository, "add", "-A")
    git(repository, "commit", "-qm", "third")
    for key in ("filter.spy.smudge", "filter.spy.clean", "diff.spy.textconv", "core.fsmonitor", "core.pager"):
        git(repository, "config", key, str(spy))
    monkeypatch.chdir(repository)
    code, out, err = run("diff", "HEAD~1:boards/controller", "HEAD:boards/controller")
    assert (code, err) == (0, "")
    assert "secret" not in out
    assert not trace.exists()


def test_a_configuration_in_the_board_s_folder_of_a_revision_is_not_obeyed(run, repository, monkeypatch):
    board = repository / "boards" / "controller"
    (board / "capcheck.toml").write_text('line = "nowhere.line.toml"\n')
    git(repository, "add", "-A")
    git(repository, "commit", "-qm", "third")
    monkeypatch.chdir(board)
    code, _, err = run("diff", "HEAD~1:.", "HEAD:.")
    assert code == 0
    assert "capcheck.toml" in err


def test_the_shop_s_configuration_beside_an_archive_or_a_report_holds(run, tmp_path, old, make_line, monkeypatch):
    make_line('name = "A"\n[[head]]\nname = "front"\n')
    (tmp_path / "capcheck.toml").write_text('line = "l.line.toml"\n')
    monkeypatch.chdir(tmp_path)
    with zipfile.ZipFile("old.zip", "w") as archive:
        for path in old.iterdir():
            archive.write(path, path.name)
    run("check", "old", "--format", "json", "--output", "old.json")
    for name in ("old.zip", "old.json"):
        _, out, err = run("diff", name, "old", "--format", "json")
        assert (err, json.loads(out)["old_revision"]["line"], json.loads(out)["new_revision"]["line"]) == (
            "",
            "Line",
            "Line",
        )


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("nothing:boards/controller", "write REVISION:FOLDER"),
        ("--output:boards/controller", ""),
        ("HEAD:elsewhere", "the folder is not in that revision"),
        ("missing.json", "missing.json: is not there (it would be a report in JSON, a board's folder or an archive)"),
        ("HEAD:../..", ""),
    ],
)
def test_what_is_no_revision_ends_in_clear_words(run, repository, monkeypatch, name, said):
    monkeypatch.chdir(repository)
    code, out, err = run("diff", name, "HEAD:boards/controller")
    assert (code, out) == (2, "")
    assert said in err
    assert "not foreseen" not in err


def test_an_archive_and_the_folder_that_it_holds_are_one(run, tmp_path, old):
    file = tmp_path / "board.zip"
    with zipfile.ZipFile(file, "w") as archive:
        for path in old.iterdir():
            archive.write(path, f"sent/{path.name}")
    code, out, err = run("diff", file, old, "--format", "json")
    assert (code, err) == (0, "")
    told = json.loads(out)
    assert (told["old_revision"]["form"], told["data"]["parts"], told["data"]["compared"]) == ("archive", [], 9)
    assert (told["new"], told["gone"]) == ([], [])


def test_a_report_and_the_folder_that_it_is_of_are_one(run, tmp_path, shop):
    board, line, saved = shop / "irrigation-controller", shop / "lines" / "mixed.line.toml", tmp_path / "old.json"
    run("check", board, "--line", line, "--format", "json", "--output", saved)
    code, out, _ = run("diff", saved, board, "--line", line, "--format", "json")
    told = json.loads(out)
    assert code == 0
    assert [told[key] for key in ("new", "worse", "gone")] == [[], [], []]
    assert [told["data"][key] for key in ("parts", "board", "feeders_in", "feeders_out")] == [[], [], [], []]
    assert told["not_compared"] == [
        "the contour: not both revisions have a drawn outline (a report holds its length and width alone)"
    ]


def test_a_report_without_parts_is_compared_by_its_findings_alone(run, tmp_path, old):
    bare = tmp_path / "bare.json"
    bare.write_text('{"schema": "capcheck-report/1", "findings": []}')
    _, out, _ = run("diff", bare, old, "--format", "json")
    told = json.loads(out)
    assert (told["data"], told["not_compared"][0]) == (None, "the data: a report that holds no parts")
    assert "the data were not compared" in run("diff", bare, old)[1]
    assert "were not compared" in run("diff", bare, old, "--format", "html")[1]


@pytest.mark.parametrize(
    "part",
    [
        "3",
        '{"ref": 1}',
        '{"ref": "R1", "x_mm": "far"}',
        '{"ref": "R1", "body_mm": {"length": [2, 1]}}',
        '{"ref": "R1", "body_mm": {"length": [NaN, 1]}}',
    ],
)
def test_a_report_with_a_damaged_board_ends_in_clear_words(run, tmp_path, old, part):
    damaged = tmp_path / "old.json"
    damaged.write_text(f'{{"schema": "capcheck-report/1", "findings": [], "board": {{}}, "parts": [{part}]}}')
    code, out, err = run("diff", damaged, old)
    assert (code, out) == (2, "")
    assert "holds a board that is not whole" in err


def test_a_panel_with_more_boards_is_one_line(run, tmp_path):
    stepped = "[panel]\ncolumns = {}\npitch_x = '60 mm'\n"
    two, three = (write(tmp_path / str(n), [*ROWS, DRIVER], stepped.format(n)) for n in (2, 3))
    _, out, _ = run("diff", two, three)
    assert "Board\n  panel: 2 × 1 → 3 × 1\n" in out
    assert "1 change of the board\n" in out


@pytest.mark.parametrize("edit", ["", "thickness = '1 mm'\n", "[panel]\ncolumns = 2\npitch_x = '60 mm'\n"])
def test_json_is_as_the_schema_says(run, tmp_path, old, edit):
    _, out, _ = run("diff", old, write(tmp_path / "new", [*ROWS[2:], DRIVER], edit), "--format", "json")
    jsonschema.Draft202012Validator(difference_schema()).validate(json.loads(out))
    what = {"": [], "t": ["thickness"], "[": ["panel"]}[edit[:1]]
    assert [change["what"] for change in json.loads(out)["data"]["board"]] == what


def test_the_schema_of_a_difference_is_printed(run):
    assert json.loads(run("schema", "diff")[1]) == difference_schema()


def test_something_new_that_fails_ends_in_1_and_a_warning_with_strict_alone(run, tmp_path, old, make_line):
    line = make_line('name = "A"\n[[head]]\nname = "front"\nmax_part_height = "3 mm"\n')
    tall = write(tmp_path / "new", [], 'mounting = { "U1" = "surface" }\n')
    (tall / "placements.csv").write_text(
        "\n".join([f"{HEADER},Height [mm]", *(f"{row},0.5" for row in ROWS), "U1,20,30,0,top,driver,mystery,5"]) + "\n"
    )
    assert run("diff", tall, tall, "--line", line)[0] == 0
    code, out, _ = run("diff", old, tall, "--line", line)
    assert code == 1
    assert "part-height" in out
    assert run("diff", tall, old, "--line", line)[0] == 0
    assert run("diff", tall, old, "--line", line, "--strict")[0] == 1


def test_what_is_said_of_a_renumbered_part_is_not_new(run, tmp_path, old, make_line):
    line = make_line('name = "A"\n[[head]]\nname = "front"\nmax_part_height = "1 mm"\n')
    renumbered = write(tmp_path / "new", [*(row.replace("R", "R10", 1) for row in ROWS), DRIVER.replace("U1", "U7")])
    _, out, _ = run("diff", old, renumbered, "--line", line, "--format", "json")
    told = json.loads(out)
    assert {tuple(part["changes"]) for part in told["data"]["parts"]} == {("renumbered",)}
    assert [told[key] for key in ("new", "worse", "gone")] == [[], [], []]
    assert {known["subject"] for known in told["unchanged"]} & {"U7", "R101"}


def test_a_later_run_that_answered_nothing_ends_in_2(run, old, tmp_path):
    empty = write(tmp_path / "new", ["FID1,1,1,0,top,,fiducial"])
    code, _, err = run("diff", old, empty)
    assert code == 2
    assert "what it does not name is not gone" in err


def test_lists_are_cut_short_unless_asked_for_in_full(run, tmp_path, old):
    rows = [row.replace("10k", f"{n}k") for n, row in enumerate(ROWS * 3, 20)]
    rows = [row.replace("R", f"R{n}0", 1) for n, row in enumerate(rows)]
    new = write(tmp_path / "new", [*ROWS, DRIVER, *rows])
    assert "more (--full shows all)" in run("diff", old, new)[1]
    assert "--full shows" not in run("diff", old, new, "--full")[1]


def test_markdown_keeps_below_what_a_forge_takes_and_escapes_names(run, tmp_path, old):
    rows = [f"X{n},{n},{n % 7},0,top,<b>v{n}</b> @team,F{n}" for n in range(3_000)]
    _, out, _ = run("diff", old, write(tmp_path / "new", [*ROWS, DRIVER, *rows]), "--format", "markdown", "--full")
    assert len(out.encode()) < 60_000
    assert "<b>" not in out
    assert "More than there is room for" in out


def test_the_page_draws_the_earlier_dashed_the_later_solid_and_what_changed_ringed(run, tmp_path, old):
    rows = [*ROWS[1:], DRIVER.replace("20,30", "25,30"), "<b>1,50,30,0,bottom,<i>x</i>,RES 1608M"]
    new = write(tmp_path / "new", rows)
    _, out, _ = run("diff", old, new, "--format", "html")
    assert out.count('class="was" data-r=') == 2  # R1 removed, U1 where it was
    assert out.count('class="now" data-r=') == 2  # U1 where it is, one part added on the bottom
    assert out.count('class="trail"') == 1
    assert out.count('<circle class="ring"') == 3
    assert 'data-side="bottom"' in out
    assert "<b>" not in out
    assert "<i>" not in out


def test_what_stands_on_an_inference_says_so(run, tmp_path, old):
    mils = write(tmp_path / "new", [])
    rows = [row.split(",") for row in [*ROWS, DRIVER]]
    text = [
        ",".join([r[0], f"{float(r[1]) / MIL_MM:.0f}", f"{float(r[2]) / MIL_MM + 40 * (r[0] == 'R1'):.0f}", *r[3:]])
        for r in rows
    ]
    (mils / "placements.csv").write_text("\n".join(["Ref,X,Y,Rotation,Side,Value,Footprint", *text]) + "\n")
    _, out, _ = run("diff", old, mils, "--format", "json")
    told = json.loads(out)["data"]
    assert [doubt["topic"] for doubt in told["uncertain"]] == ["unit"]
    assert [(part["new"]["ref"], part["changes"], part["inferred"]) for part in told["parts"]] == [
        ("R1", ["moved"], ["unit"])
    ]
