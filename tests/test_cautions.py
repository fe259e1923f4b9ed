"""Every paper and every help have the cautions, one text: commands, formats and lists are found, not named."""

import argparse
import html
import io
import re
from functools import cache

import pytest
from depth import sample_of
from pyarrow import parquet
from pypdf import PdfReader
from python_calamine import CalamineWorkbook

from capcheck import planning
from capcheck.cli import build_parser, main
from capcheck.commands import commands
from capcheck.lexicon import cautions, customers_catalogue
from capcheck.report.spreadsheet_cells import with_cautions

BOARD, LINE = "irrigation-controller", "lines/mixed.line.toml"
SMALL = "flow-sensor"
SOON = ["--time-limit", "0.3"]
PAPERS = {
    "check": [SMALL, "--line", LINE],
    "read": [SMALL],
    "part": ["U1", SMALL],
    "plan": [BOARD, "--line", LINE, *SOON],
    "compare": [SMALL, "--line", LINE, "--line", "lines/chip.line.toml", *SOON],
    "lists": ["nozzles", SMALL, "--line", LINE],
    "diff": ["REPORT", "REPORT"],
    "survey": [SMALL, "--line", LINE, "--plan-seconds", "0.3"],
    "needs": [SMALL],
}
"""Commands that tell of a board, with arguments that make them do so; paths are those of the invented shop."""

HELPS = {"rules": [], "facts": [], "explain": ["part-height"]}
"""Commands that print, whatever the board, what a help would: as text they carry what a help carries."""

NO_PAPERS = {
    "answers": "tells what a list that came back changes in the shop's files; the list itself carries the sentence",
    "boards": "tells a hook what fails, in lines that an editor takes for findings, as check --format lines does",
    "test": "tells of the rules' own examples",
    "trust": "tells what may run",
    "library": "keeps and tells figures of parts, and judges no board",
    "init": "writes files to fill in, which are inputs",
    "schema": "tells the form of a file",
    "completion": "a script for a shell",
    "desk": "serves pages, each of which carries them: tests/desk/web/test_pages.py",
    "docs": "a folder of pages, each of which carries them: tests/report/reference/test_reference.py",
}

NO_PLACE = {
    ("check", "lines"): "an editor, a machine, takes each line for a finding at a place",
    ("check", "github"): "a hosted CI shows ten notes of a kind: one for all would push out a finding",
}
"""Formats in which a sentence that is no finding would be taken for one."""

FOR_CUSTOMERS = {"questions", "questions-csv", "questions-xlsx", "mail"}
"""Papers in the customer's language, whose catalogue has the cautions too."""


@cache
def parsers():
    (commands,) = (a for a in build_parser()._actions if isinstance(a, argparse._SubParsersAction))
    return commands.choices


def formats(command):
    return next((list(a.choices) for a in parsers()[command]._actions if a.dest == "format"), [])


def lists(command):
    return [option for a in parsers()[command]._actions for option in a.option_strings if option.endswith("-list")]


def cautions_of(form):
    """Return what a paper in this form carries: the cautions, in the customer's language or in ours."""
    return customers_catalogue().paper["cautions"] if form in FOR_CUSTOMERS else cautions()


PAIRS = [(command, form) for command in PAPERS for form in formats(command)]
LISTS = [(command, option) for command in PAPERS for option in lists(command)]


def told(data):
    """Return what a reader of a paper reads, without escapes, and with one blank between words."""
    if data[:2] == b"PK":
        book = CalamineWorkbook.from_filelike(io.BytesIO(data))
        text = " ".join(str(c) for s in book.sheet_names for row in book.get_sheet_by_name(s).to_python() for c in row)
    elif data[:4] == b"%PDF":
        text = " ".join(page.extract_text() for page in PdfReader(io.BytesIO(data)).pages)
    elif data[:4] == b"PAR1":
        text = parquet.read_schema(io.BytesIO(data)).metadata[b"cautions"].decode()
    else:
        text = html.unescape(re.sub(r"</?text\b[^>]*>", " ", data.decode())).replace("\\", "")
    return " ".join(text.split())


@pytest.fixture(scope="session")
def plans():
    """The plans and comparisons made so far, by what was asked for."""
    return {}


@pytest.fixture
def paper(shop, tmp_path, monkeypatch, plans):
    """Return a function that runs a command as typed, and reads back what it wrote to a file, or printed.

    What is written in many forms is one plan, made once.
    """

    def once(name):
        make = getattr(planning, name)

        def made(*given, progress=None, **more):
            asked = (name, repr(given), repr(more))
            if asked not in plans:
                plans[asked] = make(*given, progress=progress, **more)
            return plans[asked]

        return made

    for name in ("plan", "compare"):
        monkeypatch.setattr(planning, name, once(name))

    def write(command, *more, option="--output", ending=""):
        arguments = [str(shop / a) if (shop / a).exists() else a for a in PAPERS[command]]
        if "REPORT" in arguments:
            report = tmp_path / "report.json"
            main(["check", str(shop / SMALL), "--format", "json", "--output", str(report)])
            arguments = [str(report) if a == "REPORT" else a for a in arguments]
        out = tmp_path / f"paper{ending}"
        printed = not any(option in a.option_strings for a in parsers()[command]._actions)
        code = main([command, *arguments, *more, *([] if printed else [option, str(out)])])
        assert code in {0, 1}
        return code, None if printed else out.read_bytes()

    return write


def test_every_command_makes_papers_or_has_a_reason_not_to():
    assert {command.name for command in commands()} == {*PAPERS, *HELPS, *NO_PAPERS}
    assert set(NO_PLACE) <= set(PAIRS)
    assert ("plan", "--hand-list") in LISTS


@pytest.mark.parametrize("command", ["", *(command.name for command in commands())])
def test_every_help_carries_the_cautions_once_and_whole(command, capsys):
    assert main([*([command] if command else []), "--help"]) == 0
    assert " ".join(capsys.readouterr().out.split()).count(cautions()) == 1


@pytest.mark.parametrize(("command", "form"), sample_of(PAIRS, 14))
def test_every_format_carries_the_cautions_and_no_folder_of_our_disk(command, form, paper, capsys, request):
    if form == "pdf":
        request.getfixturevalue("pango")
    _, written = paper(command, "--format", form)
    text = told(capsys.readouterr().out.encode() if written is None else written)
    assert text.count(cautions_of(form)) == (0 if (command, form) in NO_PLACE else 1)
    if form != "lines":  # for an editor on this disk, which opens each place as it is written
        assert request.getfixturevalue("shop").parent.as_posix() not in text


KINDS = next(a.choices for a in parsers()["lists"]._actions if a.choices and not a.option_strings)


@pytest.mark.parametrize(("kind", "form"), [(kind, form) for kind in KINDS for form in formats("lists")])
def test_every_kind_of_list_carries_the_cautions_in_every_format(kind, form, shop, tmp_path):
    out = tmp_path / "paper"
    assert (
        main(
            [
                "lists",
                kind,
                str(shop / SMALL),
                "--line",
                str(shop / LINE),
                "--format",
                form,
                "--output",
                str(out),
            ]
        )
        == 0
    )
    assert told(out.read_bytes()).count(cautions()) == 1


@pytest.mark.parametrize("form", ["text", "html", "json", "lines", "questions-xlsx"])
def test_each_of_several_boards_carries_them_and_the_lines_of_all_once(form, shop, tmp_path, capsys):
    boards = [str(shop / name) for name in ("flow-sensor", "light-strip")]
    main(["check", *boards, "--line", str(shop / LINE), "--format", form, "--output", str(tmp_path / "reports")])
    files = sorted((tmp_path / "reports").iterdir())
    assert len(files) == len(boards)
    assert {told(file.read_bytes()).count(cautions_of(form)) for file in files} == {
        0 if ("check", form) in NO_PLACE else 1
    }
    assert told(capsys.readouterr().out.encode()).count(cautions()) == 1


def test_several_boards_told_on_the_screen_carry_them_each(shop, capsys):
    main(["check", str(shop / "flow-sensor"), str(shop / "light-strip"), "--line", str(shop / LINE)])
    assert told(capsys.readouterr().out.encode()).count(cautions()) == 2


QUIET = [command for command in PAPERS if any("--quiet" in a.option_strings for a in parsers()[command]._actions)]


@pytest.mark.parametrize("command", QUIET)
def test_who_asks_for_the_verdict_and_what_fails_alone_gets_them_too(command, shop, capsys):
    """A verdict that stands by itself is what is most easily taken for a release."""
    given = [str(shop / a) if (shop / a).exists() else a for a in PAPERS[command]]
    if command == "diff":
        given = [str(shop / "light-strip"), str(shop / SMALL)]
    assert main([command, *given, "--quiet"]) in {0, 1}
    text = told(capsys.readouterr().out.encode())
    assert text.count(cautions()) == 1
    assert text.count("Nominal check") == 1


@pytest.mark.parametrize("files", [[], ["--output", "reports"]])
def test_several_boards_of_which_only_the_verdicts_are_shown_have_them_once(files, shop, tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    main(["check", str(shop / "flow-sensor"), str(shop / "light-strip"), "--line", str(shop / LINE), "--quiet", *files])
    text = told(capsys.readouterr().out.encode())
    assert text.count(cautions()) == text.count("Nominal check") == 1


@pytest.mark.parametrize(
    ("form", "folders"), [(form, folders) for form in formats("diff") for folders in (True, False)]
)
def test_what_changed_carries_them_whatever_the_revisions_come_from(form, folders, shop, tmp_path):
    old, new, out = str(shop / "flow-sensor"), str(shop / "light-strip"), tmp_path / "paper"
    if not folders:
        for name, path in (("old", old), ("new", new)):
            main(["check", path, "--format", "json", "--output", str(tmp_path / f"{name}.json")])
        old, new = str(tmp_path / "old.json"), str(tmp_path / "new.json")
    main(["diff", old, new, "--format", form, "--output", str(out)])
    assert told(out.read_bytes()).count(cautions()) == 1


@pytest.mark.parametrize(("command", "form"), [(command, form) for command in HELPS for form in formats(command)])
def test_what_is_as_a_help_carries_them_as_text_and_not_as_data(command, form, capsys):
    """As data it is a list of rules or facts, whoever reads it by machine."""
    assert main([command, *HELPS[command], "--format", form]) == 0
    text = " ".join(capsys.readouterr().out.split())
    assert text.count(cautions()) == (form == "text")


@pytest.mark.parametrize(("command", "option"), LISTS)
def test_every_list_for_the_floor_carries_them_beside_its_first_row(command, option, paper):
    _, written = paper(command, option=option)
    head, first, *others = written.decode().splitlines()
    assert head.endswith(",note")
    assert cautions() in first
    assert not any(cautions() in row for row in others)


@pytest.mark.parametrize(("command", "option"), LISTS)
def test_a_list_as_a_page_carries_them_once(command, option, paper):
    _, written = paper(command, option=option, ending=".html")
    assert told(written).count(cautions()) == 1


def test_a_list_without_a_row_carries_none_by_decision():
    """Its first row would be the sentence, which whoever reads the list by machine took for an item to place."""
    assert list(with_cautions([("part", "count")])) == [("part", "count", "note")]
    assert list(with_cautions([("part", "count"), ("A", 1)]))[1] == ("A", 1, cautions())


def test_what_a_customer_reads_is_the_same_text():
    assert customers_catalogue().paper["cautions"] == cautions()


def test_a_line_that_is_composed_or_not_found_comes_with_the_cautions(run, shop, tmp_path):
    for profiles, form in (
        (shop / "machines", "text"),
        (shop / "machines", "json"),
        (tmp_path, "text"),
        (tmp_path, "json"),
        (shop / "machines", "html"),
        (tmp_path, "html"),
    ):
        if profiles == tmp_path:
            text = (shop / "machines" / "chip-placer.machine.toml").read_text()
            (tmp_path / "a.machine.toml").write_text(text)
        _, out, _ = run("compare", shop / BOARD, "--stock", profiles, "--max-machines", "2", "--format", form)
        assert told(out.encode()).count(cautions()) == 1


@pytest.mark.parametrize("form", formats("part"))
def test_what_the_store_tells_of_a_part_without_a_board_carries_them(form, shop, tmp_path, capsys):
    store = str(tmp_path / "parts.db")
    main(["library", "create", "--store", store])
    main(["library", "import", str(shop / "packages" / "shop-parts.csv"), "--store", store, "--by", "Ada"])
    capsys.readouterr()
    assert main(["part", "W-36002", "--store", store, "--format", form]) == 0
    assert told(capsys.readouterr().out.encode()).count(cautions()) == 1


def test_the_readme_carries_them(shop):
    assert cautions() in " ".join((shop.parent / "README.md").read_text(encoding="utf-8").split())


def test_they_say_what_decides_and_how_the_work_is_done_safely():
    for word in (
        "first-article inspection",
        "standstill and secured",
        "X-ray",
        "fumes",
        "static",
        "hot",
        "Trained people",
    ):
        assert word in cautions()
