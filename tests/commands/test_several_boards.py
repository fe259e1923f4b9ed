"""Several boards in one run: found by content, one report each, the same as that of a run of its own.

Figures: invented.
"""

import io
import json
import os
import subprocess
import sys
import tarfile
import zipfile
from pathlib import Path

import py7zr
import pytest
from depth import sample_size
from hypothesis import given, settings, strategies as st

import capcheck.checking.settled_board as answers
from capcheck.cli import main
from capcheck.report import ENDINGS, format_names

HEADER = "Ref,X [mm],Y [mm],Rotation,Side,Value,Footprint\n"
STRICT = 'assumed = { thickness = "99 mm" }\noutcomes = { thickness-known = "fail" }\n'
"""What holds for one board alone: no conveyor takes so thick a one."""
NAMES = ("one", "two", "three", "four")


def rows(number):
    """Placements that have nothing in common with those of another number but their references."""
    return HEADER + "".join(
        f"R{i},{5 + i * (number + 2) * 7 % 31},{3 + i * i * (number + 1) % 23},0,top,10k,R0402\n" for i in range(1, 9)
    )


def parts(number):
    return f"Quantity,Reference,Value,Part number\n8,R1-R8,10k,PN-{number}\n"


def board(folder, number=0):
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "placements.csv").write_text(rows(number))
    (folder / "bom.csv").write_text(parts(number))
    return folder


@pytest.fixture
def here(tmp_path, monkeypatch, make_line):
    """A folder to work in, with a line; what is unpacked goes beside it."""
    make_line('name = "M"\n[[head]]\nname = "h"\nsmallest_chip = "0402M"\n')
    (tmp_path / "unpacked").mkdir()
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path / "unpacked"))
    yield tmp_path
    assert list((tmp_path / "unpacked").iterdir()) == []


@pytest.fixture
def check(run, here):  # noqa: ARG001
    def call(*arguments):
        return run("check", *arguments, "--line", "l.line.toml")

    return call


@pytest.fixture
def shelf(here):
    """A folder of four boards, one with its files in a folder of its own, and a folder with no board."""
    for number, name in enumerate(NAMES[:3]):
        board(here / "shelf" / name, number)
    board(here / "shelf" / "more" / "four", 3)
    (here / "shelf" / "drawings").mkdir()
    (here / "shelf" / "drawings" / "read me.txt").write_text("nothing of a board\n")
    return here / "shelf"


def packed(path, folder):
    """Pack a folder as its ending says."""
    files = sorted(file for file in Path(folder).rglob("*") if file.is_file())
    if path.suffix == ".zip":
        with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
            for file in files:
                archive.write(file, file.relative_to(folder))
    elif path.suffix == ".7z":
        with py7zr.SevenZipFile(path, "w") as archive:
            for file in files:
                archive.write(file, str(file.relative_to(folder)))
    else:
        with tarfile.open(path, "w:gz" if path.suffix in {".gz", ".tgz"} else "w") as archive:
            for file in files:
                archive.add(file, file.relative_to(folder))
    return path


@pytest.mark.usefixtures("shelf")
def test_a_folder_of_folders_gives_a_report_for_each_board(check):
    code, out, err = check("shelf", "--quiet")
    assert [line.split(":")[0].split()[1] for line in out.splitlines() if line.startswith(("WARN", "FAIL"))] == [
        "shelf/more",
        "shelf/one",
        "shelf/three",
        "shelf/two",
    ]
    assert out.splitlines()[-1].startswith("4 boards: ")
    assert code == (1 if "FAIL" in out else 0)
    assert "no board in drawings" in err


@pytest.fixture
def alone(shelf):
    """The report of each board of the shelf, checked by itself."""
    reports = {}
    for folder in (*NAMES[:3], "more/four"):
        main(["check", str(shelf.relative_to(Path.cwd()) / folder), "--line", "l.line.toml", "--output", "alone.json"])
        reports[folder.replace("/", "-")] = Path("alone.json").read_bytes()
    return reports


@given(order=st.permutations([f"shelf/{name}" for name in (*NAMES[:3], "more/four", "broken")]))
@settings(max_examples=sample_size(6))
def test_neither_order_nor_company_changes_what_is_said_of_a_board(order, shelf, alone):
    (shelf / "broken").mkdir(exist_ok=True)
    (shelf / "broken" / "bom.csv").write_text(parts(0))
    code = main(["check", *order, "--line", "l.line.toml", "--output", "reports", "--format", "json"])
    assert {file.stem: file.read_bytes() for file in Path("reports").iterdir()} == alone
    assert code == 1  # one was not checked


@pytest.mark.parametrize("ending", [".zip", ".tar", ".tgz", ".tar.gz", ".7z"])
def test_what_an_archive_holds_is_checked_as_a_folder_is(check, shelf, here, ending):
    packed(here / f"order{ending}", shelf)
    assert check("shelf", "--output", "a.json")[0] == check(f"order{ending}", "--output", "b.json")[0]
    for name in ("one", "two", "three", "more"):
        unpacked = Path(f"b-{name}.json").read_text(encoding="utf-8")
        assert unpacked.replace(f"order{ending}", "shelf") == Path(f"a-{name}.json").read_text(encoding="utf-8")


@pytest.fixture
def flat(here):
    """A folder in which the files of three boards lie side by side."""
    (here / "quote").mkdir()
    for number, name in enumerate(NAMES[:3], 1):
        (here / "quote" / f"{name}.csv").write_text(rows(number))
        (here / "quote" / f"{name}_bom.csv").write_text(parts(number))
    return here / "quote"


@pytest.mark.parametrize("jobs", ["1", "2"])
@pytest.mark.parametrize("packed_up", [False, True], ids=["folder", "archive"])
def test_boards_whose_files_lie_side_by_side_are_checked_as_each_by_itself(check, flat, here, jobs, packed_up):
    """They were one board with a question, and what the others hold was checked nowhere."""
    alone = {}
    for name in NAMES[:3]:
        (here / name).mkdir()
        for file in flat.glob(f"{name}*"):
            (here / name / file.name).write_bytes(file.read_bytes())
        check(name, "--output", "alone.json")
        alone[name] = json.loads((here / "alone.json").read_text(encoding="utf-8"))
    path = packed(here / "order.zip", flat).name if packed_up else "quote"
    _, out, _ = check(path, "--quiet", "--jobs", jobs)
    assert out.splitlines()[-1].startswith("3 boards: ")
    check(path, "--output", "reports", "--format", "json", "--jobs", jobs)
    told = {file.stem: json.loads(file.read_text(encoding="utf-8")) for file in Path("reports").iterdir()}
    assert len(told) == 3
    for report in told.values():
        one = alone[report["board"]["name"]]
        assert report["verdict"] == one["verdict"]
        told_of, told_alone = (
            [(f["rule"], f["outcome"], f["undecided"], f["subject"], f["margin"]) for f in r["findings"]]
            for r in (report, one)
        )
        assert told_of == told_alone


def test_one_of_several_boards_in_a_folder_is_named_by_its_list(check, flat):
    assert "the others: one.csv, three.csv" in check(flat / "two.csv", "--full")[1]
    _, out, err = check(flat, flat / "two.csv", "--quiet")
    assert out.splitlines()[-1].startswith("3 boards: ")
    assert "is named twice" in err


def test_an_archive_of_one_board_is_told_as_its_folder_is(check, here):
    board(here / "wrapped" / "one")
    packed(here / "one.zip", here / "wrapped")
    assert check("one.zip")[1] == check("wrapped/one")[1]


def test_archives_lie_in_archives_and_in_folders(check, shelf, here):
    (here / "outer").mkdir()
    packed(here / "outer" / "inner.zip", shelf)
    packed(here / "outer" / "lone.tar", board(here / "lone", 5))
    packed(here / "all.zip", here / "outer")
    for path in ("outer", "all.zip"):
        _, out, _ = check(path, "--quiet")
        assert out.splitlines()[-1].startswith("5 boards: ")
        assert f"{path}/inner.zip/more:" in out
        assert f"{path}/lone.tar: lone on" in out


@pytest.mark.usefixtures("shelf")
def test_line_rules_and_libraries_are_read_once(check, here, monkeypatch):
    (here / "lib.csv").write_text("part number,height [mm]\nPN-1,1\n")
    calls = []
    for home, name in (
        ("capcheck.checking.prepared", "read_line"),
        ("capcheck.checking.prepared", "all_rules"),
        ("capcheck.packages", "load_library"),
    ):
        module = __import__(home, fromlist=[name])
        made = getattr(module, name)
        monkeypatch.setattr(module, name, lambda *a, made=made, name=name, **k: calls.append(name) or made(*a, **k))
    assert check("shelf", "--library", "lib.csv", "--quiet")[1].splitlines()[-1].startswith("4 boards")
    assert sorted(calls) == ["all_rules", "load_library", "read_line"]


@pytest.mark.usefixtures("shelf")
def test_a_board_that_breaks_the_program_does_not_stop_the_others(check, monkeypatch):
    made = answers.read_board

    def broken(path, **options):
        if Path(path).name == "one":
            raise ZeroDivisionError
        return made(path, **options)

    monkeypatch.setattr(answers, "read_board", broken)
    code, out, err = check("shelf", "--quiet")
    assert code == 1
    assert "1 not checked" in out.splitlines()[-1]
    assert "not checked: shelf/one: cannot be used, for an error that was not foreseen" in err


def test_the_exit_code_is_two_only_where_nothing_could_be_checked(check, shelf, here):
    (here / "empty").mkdir()
    assert check("empty")[0] == 2
    code, out, err = check("empty", "nowhere", "--quiet")
    assert (code, out) == (2, "2 boards: 0 fail, 0 warn, 0 pass, 2 not checked\n")
    assert "nowhere: does not exist" in err
    assert "empty: no file looks like placement data" in err
    assert check("empty", shelf / "one", "--quiet")[0] == 1
    assert check(shelf / "one", shelf / "two", "--quiet")[0] == max(check(shelf / n)[0] for n in ("one", "two"))


def test_a_folder_without_boards_says_so_in_the_words_of_a_single_board(check, here):
    (here / "empty" / "below").mkdir(parents=True)
    (here / "empty" / "below" / "x.txt").write_text("nothing\n")
    code, out, err = check("empty")
    assert (code, out) == (2, "")
    assert "empty: no file looks like placement data" in err


def test_parts_without_placements_among_boards_are_no_pass(check, shelf):
    (shelf / "five").mkdir()
    (shelf / "five" / "bom.csv").write_text(parts(5))
    code, out, err = check("shelf", "--quiet")
    assert code == 1
    assert out.splitlines()[-1].endswith("1 not checked")
    assert "not checked: shelf/five: no file looks like placement data" in err


def test_one_board_named_twice_is_checked_once_and_a_copy_is_told(check, shelf, here):
    for way in ("shelf/one", "shelf/../shelf/one", here / "shelf" / "one"):
        _, out, err = check("shelf/one", way, "--quiet")
        assert out == check("shelf/one", "--quiet")[1]
        assert "is named twice" in err
    board(shelf / "copy", 0)
    packed(here / "again.zip", shelf / "one")
    _, out, err = check("shelf/one", "shelf/copy", "again.zip", "--quiet")
    assert out.splitlines()[-1].startswith("3 boards")
    assert "shelf/copy: holds the same files as shelf/one" in err
    assert "again.zip: holds the same files as shelf/one" in err


def test_a_pattern_below_a_folder_with_brackets_in_its_name_matches_in_it(check, run, here):
    """Of every command that takes many boards; "[1]" is a pattern of one character where no such folder is."""
    for number in range(2):
        board(here / "order [2024]" / f"b{number}", number)
    assert check("order [2024]/b*", "--quiet")[1].splitlines()[-1].startswith("2 boards")
    for command in (("survey", "--line", "l.line.toml", "--plan-seconds", "0"), ("needs",)):
        code, out, _ = run(*command, "order [2024]/b?", "--format", "json", "--jobs", "1")
        assert (code, len(json.loads(out)["boards"])) == (0, 2)
    code, _, err = run("needs", "order [2024]/x*")
    assert code == 2
    assert "no folder and no archive has such a name" in err


def test_a_pattern_that_the_shell_left_names_what_matches(check, shelf, here):
    (shelf / "list.txt").write_text("no board\n")
    packed(here / "shelf" / "z.zip", board(here / "z", 6))
    _, out, err = check("shelf/*", "--quiet")
    assert out.splitlines()[-1].startswith("6 boards: ")
    assert "not checked: shelf/drawings: no file looks like placement data" in err
    assert check("shelf/q*")[0] == 2


def linked(archive):
    if isinstance(archive, zipfile.ZipFile):
        entry = zipfile.ZipInfo("two/outside.csv")
        entry.external_attr = 0o120777 << 16  # POSIX (IEC 9945): a link, by definition of its mode
        archive.writestr(entry, "/etc/passwd")
        return
    for kind in (tarfile.SYMTYPE, tarfile.LNKTYPE):
        entry = tarfile.TarInfo(f"two/outside{kind!r}.csv")
        entry.type, entry.linkname = kind, "/etc/passwd"
        archive.addfile(entry)


def add(archive, name, text):
    if isinstance(archive, zipfile.ZipFile):
        archive.writestr(name, text)
    else:
        entry = tarfile.TarInfo(name)
        entry.size = len(text)
        archive.addfile(entry, io.BytesIO(text.encode()))


@pytest.mark.parametrize("ending", ["zip", "tar"])
def test_no_name_and_no_link_leads_out_of_an_archive(check, here, ending):
    (here / "in").mkdir()
    path = here / "in" / f"x.{ending}"
    with zipfile.ZipFile(path, "w") if ending == "zip" else tarfile.open(path, "w") as archive:
        add(archive, "../../escaped/placements.csv", rows(0))
        add(archive, "/absolute/placements.csv", rows(1))
        add(archive, "two\\placements.csv", rows(2))
        add(archive, "two/" + "deep/" * 60 + "placements.csv", rows(3))
        linked(archive)
    before = {file for file in here.rglob("*") if "unpacked" not in file.parts}
    _, out, err = check(path, "--quiet")
    assert {file for file in here.rglob("*") if "unpacked" not in file.parts} == before
    assert not Path("/absolute").exists()
    assert out.splitlines()[-1].startswith("4 boards: ")
    assert "in it" in err
    assert "not followed" in err


def with_a_password(path):
    data = bytearray(path.read_bytes())
    for sign, flag in ((b"PK\x03\x04", 6), (b"PK\x01\x02", 8)):
        data[data.index(sign) + flag] |= 1
    path.write_bytes(data)


def declaring(path, size):
    data = bytearray(path.read_bytes())
    at = -1
    while (at := data.find(b"PK\x01\x02", at + 1)) >= 0:
        data[at + 24 : at + 28] = size.to_bytes(4, "little")
    path.write_bytes(data)


@pytest.mark.parametrize(
    ("kind", "said"),
    [
        ("password", "protected by a password"),
        ("many", "it holds 6,000 files"),
        ("declared", "it holds 3 files of 12,000 MB"),
        ("declared in a tar", "10,000 MB"),
        ("cut", "the archive is damaged"),
        ("7z", "the archive is damaged"),
        ("rar", "archives of this form are not opened"),
        ("bomb", "more than is unpacked of one archive"),
    ],
)
def test_an_archive_that_is_not_opened_is_told_and_stops_nothing(check, shelf, here, kind, said):
    bad = here / {"7z": "bad.7z", "rar": "bad.rar", "declared in a tar": "bad.tar"}.get(kind, "bad.zip")
    if kind == "declared in a tar":
        entry = tarfile.TarInfo("placements.csv")
        entry.size = 10_000_000_000
        bad.write_bytes(entry.tobuf())
    else:
        files = {"many": 6_000, "declared": 3}.get(kind, 1)
        with zipfile.ZipFile(bad, "w", zipfile.ZIP_DEFLATED) as archive:
            for number in range(files):
                archive.writestr(f"p{number}.csv", "0" * 20_000_000 if kind == "bomb" else rows(0))
    if kind == "password":
        with_a_password(bad)
    elif kind == "declared":
        declaring(bad, 4_000_000_000)
    elif kind == "cut":
        bad.write_bytes(bad.read_bytes()[:100])
    elif kind == "7z":
        bad.write_bytes(b"7z\xbc\xaf\x27\x1c" + bytes(60))
    code, out, err = check(bad)
    assert (code, out) == (2, "")
    assert said in err
    code, out, err = check(bad, shelf / "one", "--quiet")
    assert code == 1
    assert out.splitlines()[-1].endswith("1 not checked")
    assert said in err


def test_an_archive_in_itself_ends(check, here):
    """Each level is another archive of the same board; what all of them may hold is bounded, and so is their depth."""
    packed(here / "0.zip", board(here / "lone"))
    for number in range(1, 20):
        with zipfile.ZipFile(here / f"{number}.zip", "w") as archive:
            archive.write(here / f"{number - 1}.zip", f"{number - 1}.zip")
    code, _, err = check("19.zip")
    assert code == 2
    assert "lies too deep" in err
    assert "unpack what it lies in, and name it by itself" in err
    board(here.joinpath("deep", *"abcdefghijklmno"))
    code, _, err = check("deep")
    assert code == 2
    assert "lies too deep (nothing was looked at); name it by itself" in err


def test_a_link_in_a_folder_of_boards_is_not_followed_out_of_it_nor_in_a_circle(check, shelf, here):
    board(here / "elsewhere", 7)
    (shelf / "out").symlink_to(here / "elsewhere")
    (shelf / "round").symlink_to(shelf)
    _, out, err = check("shelf", "--quiet")
    assert out.splitlines()[-1].startswith("4 boards: ")
    assert "shelf/out: is a link that leaves the folder" in err


def test_each_format_has_an_ending():
    others = {"parquet", "pdf"}  # which only a survey, plan and compare write
    assert set(ENDINGS) - others == set(format_names())


def test_an_ending_names_the_format(check, shelf):
    code, out, _ = check(
        shelf / "one", "--output", "r.html", "--output", "r.json", "--output", "r", "--output", "r.csv"
    )
    assert (code, out) == (check(shelf / "one")[0], "")
    assert Path("r.html").read_text(encoding="utf-8").startswith("<!DOCTYPE html>")
    assert json.loads(Path("r.json").read_text(encoding="utf-8"))["schema"] == "capcheck-report/1"
    assert Path("r").read_text(encoding="utf-8").startswith(("WARN", "FAIL"))
    check(shelf / "one", "--format", "questions-csv", "--output", "q.csv", "--output", "q.json")
    assert Path("q.csv").read_text(encoding="utf-8") != Path("r.csv").read_text(encoding="utf-8")
    check(shelf / "one", "--format", "json", "--output", "r.txt")
    assert Path("r.txt").read_bytes() == Path("r.json").read_bytes()


def test_no_report_is_written_over_another(check, here):
    for number, name in enumerate(("a/x", "a/y", "a-x", "A-X", "b/x", "b/y")):
        board(here / "boards" / name, number)
    assert check("boards", "--output", "r.json", "--output", "out")[0] in {0, 1}
    assert len(list(here.glob("r-*.json"))) == 6
    assert len(list((here / "out").iterdir())) == 6
    before = Path("boards/b/x/bom.csv").read_bytes()
    os.link("boards/b/x/bom.csv", "s-b-x.csv")
    code, _, err = check("boards", "--output", "s.csv")
    assert code == 2
    assert "is an input of this run" in err
    assert Path("boards/b/x/bom.csv").read_bytes() == before


@pytest.mark.parametrize("asked", [("--format", "json"), ("--format", "html"), ("--baseline", "old.json")])
def test_what_is_of_one_board_is_refused_for_several(check, shelf, asked):
    assert shelf.is_dir()
    Path("old.json").write_text('{"schema": "capcheck-report/1", "findings": []}')
    for paths in (("shelf",), ("shelf/one", "shelf/two")):
        code, out, err = check(*paths, *asked)
        assert (code, out) == (2, "")
        assert "several" in err


def test_quiet_tells_verdict_and_what_fails(check, here):
    board(here / "one")
    whole, quiet = check("one")[1], check("one", "--quiet")[1]
    verdict = whole.partition("\n      8 parts")[0]
    assert quiet.startswith(verdict)
    assert "Undecided" not in quiet
    (here / "m1.machine.toml").write_text('name = "M"\n[board]\nmax_length = "5 mm"\n[[head]]\nname = "h"\n')
    (here / "one" / "board.toml").write_text('length = "60 mm"\nwidth = "50 mm"\n')
    whole, quiet = check("one")[1], check("one", "--quiet")[1]
    assert whole.startswith("FAIL")
    stops = whole.partition("Stops it\n")[2].partition("\n\n")[0]
    assert stops
    assert stops in quiet
    code, out, err = check("one", "--quiet", "--format", "json")
    assert (code, out) == (2, "")
    assert "--quiet" in err
    assert check("one", "--quiet", "--output", "r.txt")[1] == quiet
    assert Path("r.txt").read_text(encoding="utf-8") == whole


@pytest.mark.parametrize("options", [("--quiet",), ("--format", "lines"), ("--full",)])
def test_several_processes_print_what_one_prints(check, shelf, here, options):
    (shelf / "broken").mkdir()
    (shelf / "broken" / "board.toml").write_text("placements = 5\n")
    packed(here / "quote.zip", shelf)
    paths = (shelf / "two", "shelf", "quote.zip", "nowhere")
    assert check(*paths, *options, "--jobs", "3") == check(*paths, *options, "--jobs", "1")


def test_several_processes_write_what_one_writes(check, shelf, here):
    packed(here / "quote.zip", shelf)
    told = []
    for jobs in ("1", "2"):
        outputs = [option for ending in ("html", "json", "csv") for option in ("--output", f"r{jobs}/x.{ending}")]
        Path(f"r{jobs}").mkdir()
        told.append(check(shelf, "quote.zip", *outputs, "--jobs", jobs))
    assert told[0] == told[1]
    assert len(list(Path("r1").iterdir())) == 8 * 3
    assert {f.name: f.read_bytes() for f in Path("r1").iterdir()} == {
        f.name: f.read_bytes() for f in Path("r2").iterdir()
    }


@pytest.mark.usefixtures("shelf")
def test_a_board_that_ends_its_process_does_not_stop_the_others(check, monkeypatch):
    made, here_ = answers.read_board, os.getpid()

    def killing(path, **options):
        if Path(path).name == "one" and os.getpid() != here_:
            os.kill(os.getpid(), 9)
        return made(path, **options)

    monkeypatch.setattr(answers, "read_board", killing)
    code, out, err = check("shelf", "--quiet", "--jobs", "2")
    assert code == 1
    assert out.splitlines()[-1].startswith("4 boards: ")
    assert out.splitlines()[-1].endswith("1 not checked")
    assert "not checked: shelf/one: ends the process that checks it, twice" in err


@pytest.mark.parametrize("command", ["check", "survey", "needs"])
@pytest.mark.parametrize("ending", [".docx", ".pdf"])
def test_an_ending_that_names_no_format_is_refused_before_any_work(run, shelf, command, ending):
    line = () if command == "needs" else ("--line", "l.line.toml")
    code, out, err = run(command, shelf / "one", *line, "--output", f"r{ending}")
    assert (code, out) == (2, "")
    assert "names no format" in err
    assert not Path(f"r{ending}").exists()
    assert run(command, shelf / "one", *line, "--output", f"r{ending}", "--format", "json")[0] < 2
    assert json.loads(Path(f"r{ending}").read_text(encoding="utf-8"))["schema"]


def test_an_ending_of_other_papers_names_no_format_of_a_check(run, shelf):
    code, _, err = run("check", shelf / "one", "--output", "r.parquet")
    assert code == 2
    assert "names no format" in err


def test_a_7z_archive_with_a_password_is_told(check, here):
    file = board(here / "one") / "placements.csv"
    for hidden_names in (False, True):
        with py7zr.SevenZipFile(here / "bad.7z", "w", password="x y", header_encryption=hidden_names) as archive:  # noqa: S106
            archive.write(file, "placements.csv")
        code, out, err = check("bad.7z")
        assert (code, out) == (2, "")
        assert "protected by a password" in err


def test_an_archive_within_another_is_named_by_that_one_where_it_cannot_be_opened(check, here):
    """Where it was unpacked is gone when the message is read, and another place in each run."""
    board(here / "order" / "one", 1)
    board(here / "order" / "two", 2)
    (here / "order" / "bad.zip").write_bytes(b"PK, and then nothing")
    packed(here / "order.zip", here / "order")
    _, _, err = check("order.zip", "--quiet", "--jobs", "1")
    assert "not checked: order.zip/bad.zip: the archive is damaged" in err
    assert "unpacked/" not in err


def test_a_7z_archive_without_the_library_says_what_to_install(here):
    """The reading process has it not: what it imports is looked for among our own modules alone."""
    with py7zr.SevenZipFile(here / "x.7z", "w") as archive:
        archive.write(board(here / "one") / "placements.csv", "placements.csv")
    program = (
        "import sys; sys.modules['py7zr'] = None; from capcheck.intake.archives.archive import read_here, Asked, Limits"
    )
    program += "; import msgspec; read_here('x.7z', msgspec.msgpack.encode(Asked(Limits(9, 9999, 3))))"
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=False, cwd=here)
    assert 'pip install "capcheck[7z]"' in done.stderr


@pytest.mark.parametrize("others", [(), (3,)])
def test_the_same_board_twice_in_an_archive_is_told_on_a_quiet_run_too(check, here, others):
    for name in ("p", "q"):
        board(here / "twice" / name, 1)
    for number in others:
        board(here / "twice" / f"b{number}", number)
    packed(here / "twice.zip", here / "twice")
    code, _, err = check("twice.zip", "--quiet")
    assert code == 0
    assert "same files as" in err
    assert "q" in err


def test_of_many_copies_in_an_archive_one_is_checked_and_the_others_are_named(check, here):
    for number in range(25):
        board(here / "many" / f"b{number:02}", 1)
    board(here / "many" / "other", 0)
    packed(here / "many.zip", here / "many")
    _, out, err = check("many.zip", "--quiet")
    assert out.splitlines()[-1].startswith("2 boards")
    assert "24 more folders hold the same files as b00" in err
    assert "b01" in err


def test_a_copy_that_the_shop_tells_something_else_of_is_checked_by_that(check, run, here):
    """By its configuration, a library that names boards, or the list of quantities."""
    for number in range(25):
        board(here / "many" / f"b{number:02}", 1)
    board(here / "many" / "other", 0)
    packed(here / "many.zip", here / "many")
    (here / "own.toml").write_text(f'[boards."many.zip/b07"]\n{STRICT}')
    code, out, err = check("many.zip", "--quiet", "--config", "own.toml")
    assert "23 more folders hold the same files as b00" in err
    assert "FAIL  many.zip/b07" in out
    assert code == 1
    (here / "library.csv").write_text("board,reference,height [mm]\nb09,R1,30\n")
    assert check("many.zip", "--quiet", "--library", "library.csv")[1].splitlines()[-1].startswith("26 boards")
    (here / "list.csv").write_text("board,per year\nb11,500\nmany.zip/b12,70\n")
    where = ("many.zip", "--line", "l.line.toml", "--plan-seconds", "0", "--per-year", "list.csv", "--format", "json")
    found = json.loads(run("survey", *where)[1])
    assert {one["board"]: one["per_year"] for one in found["boards"]} == {
        "b00": None,
        "b11": 500,
        "b12": 70,
        "other": None,
    }


@pytest.mark.parametrize("pack", [False, True])
def test_copies_of_one_board_of_which_one_is_settled_otherwise_are_judged_each(check, here, pack):
    """Read as one from above, the one that is settled more strictly would be judged by nobody."""
    board(here / "many" / "one", 1)
    board(here / "many" / "two", 1)
    name = "many"
    if pack:
        name = packed(here / "many.zip", here / "many").name
    (here / "own.toml").write_text(f'[boards."{name}/two"]\n{STRICT}')
    code, out, _ = check(name, "--quiet", "--config", "own.toml")
    assert out.count("WARN") == out.count("FAIL") == 1
    assert code == 1
    assert f"FAIL  {name}/two" in out
