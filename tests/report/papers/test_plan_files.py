"""The workbook and the PDF of a plan and of a comparison say what their JSON says.

Figures: those of the invented boards and lines of fixtures/.
"""

import io
import json
import sys

import openpyxl
import pytest
from msgspec.structs import replace

from capcheck.cli import main
from capcheck.model import say
from capcheck.planning import PlanSettings, compare, plan
from capcheck.report import (
    comparison_json,
    comparison_page,
    comparison_xlsx,
    json_text,
    pdf_of,
    plan_json,
    plan_page,
    plan_xlsx,
    set_up_list,
    set_up_page,
)
from capcheck.report.papers.plan_view import why_view
from capcheck.values import InputError

BOARDS = ("irrigation-controller", "flow-sensor")
QUICK = PlanSettings(time_limit=3.0, hours_per_year=1500.0, set_up="each")


@pytest.fixture(scope="module")
def planned(shop):
    boards = [shop / name for name in BOARDS]
    return plan(boards, shop / "lines" / "mixed.line.toml", per_year=[5000, 800], settings=QUICK)


@pytest.fixture(scope="module")
def data(planned):
    return json.loads(json_text(plan_json(planned.plan, by_hand=planned.given.by_hand)))


def rows(content):
    book = openpyxl.load_workbook(io.BytesIO(content))
    return {sheet.title: [list(row) for row in sheet.iter_rows(values_only=True)] for sheet in book}


def records(table):
    head, *body = table
    return [dict(zip(head, row, strict=True)) for row in body]


def test_the_workbook_of_a_plan_has_a_row_a_board_and_the_figures_of_the_json(planned, data):
    sheets = rows(plan_xlsx(planned.plan, by_hand=planned.given.by_hand))
    boards = records(sheets["boards"])
    assert [b["board"] for b in boards] == [b["board"] for b in data["finished_boards"]]
    for told, board in zip(boards, data["finished_boards"], strict=True):
        assert told["boards/h"] == pytest.approx(board["boards_per_hour"][0], abs=1e-5)
        assert told["s a board"] == pytest.approx(board["line_seconds_per_board_s"][0], abs=1e-5)
    stations = [s for one in data["set_ups"] for f in one["figures"] for s in f["stations"]]
    assert [row["planned s"] for row in records(sheets["load"])] == pytest.approx([s["planned_s"] for s in stations])
    assert sum(row["placements per pass"] for row in records(sheets["by hand"])) == sum(
        h["placements"] for h in data["by_hand"]
    )
    feeders = [f for one in data["set_ups"] for f in one["feeders"]]
    assert len(sheets["set-up list"]) - 1 == len(feeders)
    moved = sum(len(c["out"]) + len(c["in"]) for c in data["changeovers"])
    assert len(sheets["changeovers"]) - 1 == moved
    assert "Nominal check of data" in str(boards[0]["note"])


def test_the_set_up_list_names_boards_values_and_packages(planned):
    head, *body = set_up_list(planned.plan).splitlines()
    assert "part number,value,package,nozzle,supply" in head
    assert any("Irrigation controller: C" in row for row in body)
    assert any("flow-sensor: " in row for row in body)


@pytest.mark.usefixtures("pango")
def test_pages_have_a_row_a_board_and_print_to_pdf_alike_each_time(planned):
    page = plan_page(planned.plan)
    assert page.count("data-board") == len(BOARDS)
    assert "flow-sensor: " in page
    made = pdf_of(page)
    assert made.startswith(b"%PDF")
    assert made == pdf_of(page)


@pytest.mark.usefixtures("pango")
def test_a_comparison_comes_as_workbook_and_pdf(shop):
    lines = [shop / "lines" / f"{name}.line.toml" for name in ("full", "chip")]
    found = compare([shop / BOARDS[0]], lines, settings=PlanSettings(time_limit=4.0))
    told, data = records(rows(comparison_xlsx(found))["lines"]), json.loads(json_text(comparison_json(found)))
    for row, line in zip(told, data["lines"], strict=True):
        assert (row["line"], row["verdict"]) == (line["line"], line["verdict"])
        assert row["cycle s"] == pytest.approx(line["cycle_within_s"][0], abs=1e-5)
        assert row["boards/h at most"] == pytest.approx(line["boards_per_hour_within"][1], abs=1e-4)
    page = comparison_page(found)
    assert "no machine can place" in page, "a line that stops the board is told with the part and the limit"
    assert any("no machine can place" in str(row) for row in rows(comparison_xlsx(found))["what is said"])
    assert pdf_of(page).startswith(b"%PDF")


ADDRESSES = ("https://example.invalid/a.png", "file:///etc/hostname", "data:text/plain,text", "ftp://example.invalid/a")
FORMS = (
    '<img src="{}" alt="nothing">',
    '<link rel="stylesheet" href="{}">',
    '<link rel="attachment" href="{}">',
    '<a rel="attachment" href="{}">a</a>',
    '<object data="{}">nothing</object>',
    '<embed src="{}">',
    '<base href="{0}"><img src="{0}">',
    '<style>@import url("{}");</style>',
    '<p style="background:url({});list-style-image:url({})">a</p>',
    '<style>@font-face{{font-family:f;src:url("{}")}}p{{font-family:f}}</style>',
    '<svg><image href="{0}" width="9" height="9"/><use href="{0}#a"/></svg>',
)


@pytest.mark.usefixtures("pango")
@pytest.mark.parametrize("form", FORMS)
def test_a_paper_opens_no_address_and_no_file(form, monkeypatch):
    opened = []
    monkeypatch.setattr("urllib.request.OpenerDirector.open", lambda _, address, *__, **___: opened.append(address))
    body = "".join(form.format(address, address) for address in ADDRESSES)
    assert pdf_of(f"<style></style><p>before{body}").startswith(b"%PDF")
    assert opened == []


def test_a_name_that_holds_markup_prints_as_a_name(make_board, shop):
    name = '</style><link rel=attachment href="file:///etc/hostname"><img src="file:///etc/hostname">'
    folder = make_board(["R1,9,10,0,top,XQ99,R0603"], toml=f"name = '{name}'\n")
    page = plan_page(plan([folder], shop / "lines" / "full.line.toml", settings=QUICK).plan)
    assert "<img" not in page
    assert "<link" not in page
    assert page.count("</style>") == 1


def test_without_its_library_a_paper_is_refused_with_what_to_do(monkeypatch):
    monkeypatch.setitem(sys.modules, "weasyprint", None)
    with pytest.raises(InputError, match="capcheck\\[pdf\\]"):
        pdf_of("<p>a")


@pytest.mark.parametrize(
    ("library", "more", "extra"),
    [
        ("weasyprint", ["--format", "pdf"], "pdf"),
        ("weasyprint", ["--hand-list", "hand.pdf"], "pdf"),
        ("xlsxwriter", ["--output", "plan.xlsx"], "xlsx"),
        ("jinja2", ["--output", "plan.html"], "html"),
    ],
)
def test_a_missing_library_is_told_before_the_search(library, more, extra, shop, tmp_path, monkeypatch, capsys):
    def searched(*_, **__):
        raise AssertionError("a plan was searched that cannot be delivered")

    monkeypatch.chdir(tmp_path)
    monkeypatch.setitem(sys.modules, library, None)
    monkeypatch.setattr("capcheck.planning.plan", searched)
    line = str(shop / "lines" / "mixed.line.toml")
    assert main(["plan", str(shop / "flow-sensor"), "--line", line, *more]) == 2
    assert f"capcheck[{extra}]" in capsys.readouterr().err
    assert not list(tmp_path.iterdir())


def test_warnings_of_a_kind_are_folded_below_the_first_and_all_of_them_stand_there(planned):
    warned = [say("planning.cycle open", board=f"board {k}") for k in range(5)]
    found = why_view(replace(planned.plan, warned=(*warned, *planned.plan.warned[:1])))
    kinds = [(first, len(others)) for first, others in found]
    assert kinds[0][1] == 4
    assert sum(1 + others for _, others in kinds if _.startswith("warn")) == 6


def test_every_long_table_states_the_widths_of_its_columns(planned):
    """What sets pages for print measures each cell of a table that states none: most of its time."""
    for page in (plan_page(planned.plan), set_up_page(planned.plan)):
        for table in page.split("<table")[1:]:
            head = table.split("</thead>")[0]
            assert ' boards"' in head or head.count("<col ") + head.count("<col>") == head.count('scope="col"')
