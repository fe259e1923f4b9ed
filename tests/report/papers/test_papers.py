"""Plan, comparison, quote sheet and lists as pages: their counts are those of the JSON of the same plan.

The pages are read back with the standard library's parser.

Figures: those of the invented boards and lines of fixtures/; prices and hours invented, sums by hand.
"""

import csv
import io
import json
import re
from html.parser import HTMLParser

import pytest
from msgspec.structs import replace

from capcheck import check
from capcheck.intake.tables import expand_references
from capcheck.lexicon import sentence
from capcheck.lists import handling_list, nozzle_list, order_list, pin_1_list, probing_list
from capcheck.planning import PlanSettings, Supply, compare, plan
from capcheck.report import (
    comparison_json,
    comparison_page,
    json_text,
    list_csv,
    list_page,
    plan_json,
    plan_page,
    plan_text,
    quote_page,
    quote_text,
    quotes,
)
from capcheck.report.papers.plan_view import figures_of
from capcheck.report.plan import hand_rows
from capcheck.report.questions import questions
from capcheck.values import shortened

DEMO = "irrigation-controller"
PLACE = re.compile(r" \([^)]*\)")
"""Where a part lies, behind its reference."""
QUICK = PlanSettings(time_limit=0.5, hours_per_year=90.0, set_up="each")


class Page(HTMLParser):
    """Gathers the text, the rows of all tables as cells in order, and what data attributes tell rows apart."""

    def __init__(self, text):
        super().__init__()
        self.text, self.rows, self.ids, self.elements = "", [], {}, []
        self.open, self.hidden = [], 0
        self.feed(text)

    def handle_starttag(self, tag, attributes):
        named = dict(attributes)
        self.elements.append(tag)
        self.hidden += tag in {"style", "script", "title"}
        assert not any(name.startswith("on") for name in named)
        assert not named.get("src")
        if tag in {"tr", "div"}:
            self.rows.append((named, []))
        if tag in {"td", "th", "dt", "dd"} and self.rows:
            self.rows[-1][1].append("")
        if named.get("id"):
            self.open = [named["id"]]

    def handle_endtag(self, tag):
        self.hidden -= tag in {"style", "script", "title"}
        self.text += " " if tag in {"dt", "dd"} else ""
        if tag in {"table", "dl"}:
            self.rows.append(({}, []))

    def handle_data(self, data):
        if self.hidden:
            return
        self.text += data
        if self.rows and self.rows[-1][1]:
            self.rows[-1][1][-1] += data
        for name in self.open:
            self.ids[name] = self.ids.get(name, "") + data

    def having(self, attribute):
        return [
            (named[attribute], [" ".join(c.split()) for c in cells]) for named, cells in self.rows if attribute in named
        ]


@pytest.fixture(scope="module")
def planned(shop):
    supply = Supply({"W-31001": 4000}, 6.0)
    line = shop / "lines" / "mixed.line.toml"
    return plan([shop / DEMO], line, per_year=[5000], settings=QUICK, supply=supply)


@pytest.fixture(scope="module")
def page(planned):
    return Page(plan_page(planned.plan, by_hand=planned.given.by_hand, hand_seconds=6.0))


@pytest.fixture(scope="module")
def data(planned):
    return json.loads(json_text(plan_json(planned.plan)))


def test_every_feeder_stands_on_the_page_once_in_the_machines_order(page, data):
    told = [(cells[0], cells[1], int(cells[4].split()[0])) for _, cells in page.having("data-feeder")]
    order = []
    for set_up in data["set_ups"]:
        for machine in data["line"]["machines"]:
            mine = [f for f in set_up["feeders"] if f["machine"] == machine]
            order += sorted(mine, key=lambda f: (f["supply"] == "tray", f["first_slot"] or 0, f["part_number"]))
    assert [(part, needed) for _, part, needed in told] == [(f["part_number"], sum(f["placements"])) for f in order]
    for (slot, *_), feeder in zip(told, order, strict=True):
        assert slot.split("–")[0] == ("tray" if feeder["supply"] == "tray" else f"{feeder['first_slot']:g}")


def test_what_a_takt_lacks_is_what_was_not_given(planned):
    job = planned.plan.job
    without = replace(job, passes=tuple(replace(p, per_year=None) for p in job.passes))
    for of, lacks in ((job, "hours a year not given"), (without, "quantity a year not given")):
        figures = {figure.label: figure for figure in figures_of(replace(planned.plan, demand=None, job=of))}
        assert figures["takt"].note == lacks


def test_output_takt_and_uptime_are_ranges_of_the_plan(page, data):
    head = " ".join(page.text.split())
    (board,) = data["finished_boards"]
    low, high = board["boards_per_hour"]
    assert f"{low:.1f} to {high:.1f}" in head
    assert f"{data['demand']['takt_s']:.2f} s" in head
    assert "{:.1f} to {:.1f} %".format(*(100 * end for end in data["uptime"])) in head
    for set_up in data["set_ups"]:
        for figures in set_up["figures"]:
            for station in figures["stations"]:
                for end in station["seconds_s"]:
                    assert f"{end:.2f}" in head
            assert f"set by {figures['bottleneck']}" in head


def test_the_verdict_is_one_sentence_that_names_what_is_open(page, planned):
    said = " ".join(page.ids["said"].split())
    assert said.startswith("every part has a place")
    assert f"{len(planned.plan.warned)} things to settle" in said


def test_changeovers_tell_what_is_taken_off_and_put_on(page, data):
    (change,) = data["changeovers"]
    rows = [(word, cells[1], cells[3]) for word, cells in page.having("data-change")]
    for word, key in (("take off", "out"), ("put on", "in")):
        assert sorted((m, p) for w, m, p in rows if w == word) == sorted(
            (c["machine"], c["part_number"]) for c in change[key]
        )
    assert rows


def test_hand_list_and_refills_have_their_seconds_and_sums(page, planned):
    hand = page.having("data-hand")
    assert sum(int(cells[2]) for _, cells in hand) == sum(map(len, planned.given.by_hand.values()))
    assert all(float(cells[3]) == 6 * int(cells[2]) for _, cells in hand)
    refills = page.having("data-refill")
    assert {cells[2] for _, cells in refills} == {"W-31001"}
    assert all(cells[4].startswith("4000 / ") for _, cells in refills)


@pytest.mark.parametrize("form", ["html", "text"])
def test_the_quote_sheet_agrees_with_the_plan(form, planned, data):
    (quote,) = quotes(planned, 6.0)
    text = " ".join((Page(quote_page([quote])).text if form == "html" else quote_text([quote])).split())
    figures = {f.label: f.value for _, section in quote.sections for f in section}
    placed = sum(sum(f["placements"]) for s in data["set_ups"] for f in s["feeders"])
    by_hand = sum(map(len, planned.given.by_hand.values()))
    not_proved = sum(sum(f["placements"]) for s in data["set_ups"] for f in s["feeders"] if f["not_proved"])
    assert figures["by machine"] == str(placed)
    assert figures["by hand or odd-form"] == f"{by_hand} to {by_hand + not_proved}"
    assert figures["hand minutes"] == f"{by_hand / 10:g} to {(by_hand + not_proved) / 10:g}"
    numbers = {f["part_number"] for s in data["set_ups"] for f in s["feeders"]}
    assert figures["distinct part numbers"] == str(len(numbers) + len(planned.given.by_hand))
    assert figures["questions"] == str(len(questions(planned.reports[0])))
    for label, value in figures.items():
        assert f"{label} {value}" in text
    *classes, every = quote.classes
    assert every.parts == placed + by_hand == sum(c.parts for c in classes)
    assert every.joints == sum(c.joints for c in classes)
    assert str(every.part_numbers) == figures["distinct part numbers"]


def test_pins_that_are_not_known_are_counted_as_not_known_and_named(planned):
    (quote,) = quotes(planned)
    board = planned.reports[0].board
    pins = [body.pins for body in board.bodies]
    rows = board.placements.is_part.nonzero()[0].tolist()
    unknown = [board.placements.ref[r] for r in rows if pins[board.placements.part_type[r]] is None]
    (joints,) = (f for _, section in quote.sections for f in section if f.label == "joints")
    known = sum(pins[board.placements.part_type[r]] or 0 for r in rows)
    assert unknown
    assert joints.value == f"at least {known:,}"
    assert f"{len(unknown)} parts with an unknown number of pins" in joints.note
    assert unknown[0] in joints.note


def test_hand_minutes_without_a_time_for_one_part_are_not_known(shop):
    found = plan([shop / DEMO], shop / "lines" / "mixed.line.toml", settings=QUICK)
    (quote,) = quotes(found)
    figures = {f.label: f for _, section in quote.sections for f in section}
    assert figures["hand minutes"].value == figures["takt"].value == "not known"
    assert "--hand-seconds" in figures["hand minutes"].note


def test_a_comparison_has_a_row_a_line_that_agrees_with_its_json(shop):
    lines = [shop / "lines" / f"{name}.line.toml" for name in ("full", "mixed", "chip")]
    # One comparison for both: two that end at a time limit need not find the same plans.
    found = compare([shop / DEMO], lines, settings=PlanSettings(time_limit=6.0))
    told = json.loads(json_text(comparison_json(found)))
    page = Page(comparison_page(found))
    rows = dict(page.having("data-line"))
    assert list(rows) == [row["line"] for row in told["lines"]]
    for row in told["lines"]:
        cells = rows[row["line"]]
        assert row["verdict"] in cells[0]
        assert "{:.2f} to {:.2f} s".format(*row["cycle_within_s"]) in cells[1]
        assert "{:.1f} to {:.1f}".format(*row["boards_per_hour_within"]) in cells[2]
        assert f"of {row['slots']}" in cells[4]
    for row in told["lines"][:2]:
        assert "ranges overlap" in rows[row["line"]][0]
    said = " ".join(page.ids["said"].split())
    assert said.startswith("No clear best by cycle")
    assert told["not_told_from_best"] == [row["line"] for row in told["lines"][:2] if row["line"] != told["best"]]


@pytest.mark.parametrize("option", ["--set-up-list", "--hand-list"])
def test_a_list_as_a_page_has_the_rows_of_its_csv(run, shop, tmp_path, option):
    files = [tmp_path / f"list.{end}" for end in ("csv", "html")]
    for file in files:
        run("plan", shop / DEMO, "--line", shop / "lines" / "chip.line.toml", option, file, "--time-limit", 3)
    rows = list(csv.DictReader(io.StringIO(files[0].read_text(encoding="utf-8"))))
    page = Page(files[1].read_text(encoding="utf-8"))
    listed = [cells for _, cells in page.having("data-row")]
    assert len(listed) == len(rows) > 1
    for row in rows:
        in_runs = shortened(row["references"].split(), 10_000)
        assert any(row["part number"] in cells and in_runs in cells for cells in listed)
    assert page.elements.count("thead") == page.elements.count("table")


def test_each_list_as_a_page_says_what_its_csv_says(shop):
    report = check(shop / DEMO, line=shop / "lines" / "mixed.line.toml")
    board = report.board
    made = (order_list(board, 7), nozzle_list(report), pin_1_list(board), handling_list(board), probing_list(board))
    for listed in made:
        page = Page(list_page(listed))
        written = {" ".join(cell.split()) for row in csv.reader(io.StringIO(list_csv(listed))) for cell in row}
        rows = [cells for _, cells in page.having("data-row")]
        assert sum(f"[{n}]" in cells for n in range(1, 99) for cells in rows) == len(rows) > 1, listed.name
        beside = {cell for cells in rows for cell in cells[:-1]} - written
        assert all(cell.isdecimal() or cell in {f"[{n}]" for n in range(1, 99)} for cell in beside), listed.name
        shown = " ".join(page.text.split())
        sources = {sentence(row.source) for row in listed.rows}
        for said in (*sources, *map(sentence, (*listed.totals, *listed.notes))):
            assert said in shown, (listed.name, said)
        told = PLACE.sub("", ", ".join(row[-1] for row in rows))
        assert {ref for row in listed.rows for ref in row.refs} == set(expand_references(told)[0]), listed.name


@pytest.mark.parametrize("form", ["html", "quote-html", "quote"])
def test_hostile_texts_stay_texts(form, run, hostile_board, hostile_texts, shop, tmp_path):
    files = [tmp_path / "set-up.html", tmp_path / "hand.html"]
    line = shop / "lines" / "mixed.line.toml"
    more = ("--set-up-list", files[0], "--hand-list", files[1], "--time-limit", 0.3)
    _, out, _ = run("plan", hostile_board, "--line", line, "--format", form, *more)
    assert out
    papers = [file.read_text(encoding="utf-8") for file in files] + ([out] if form != "quote" else [])
    shown = ""
    for text in papers:
        page = Page(text)
        assert not {"script", "img"} & set(page.elements)
        shown += " ".join(page.text.split()).replace("\u202e", "")
    for text in hostile_texts:
        assert text[:40].replace("\u202e", "") in shown


def test_a_line_of_a_stock_comes_as_a_page_too(run, shop, tmp_path):
    arguments = ("--stock", shop / "machines", "--max-machines", 2, "--format", "html", "--time-limit", 5)
    _, out, _ = run("compare", shop / DEMO, *arguments)
    assert "best of" in Page(out).text
    (tmp_path / "a.machine.toml").write_text((shop / "machines" / "chip-placer.machine.toml").read_text())
    code, out, _ = run("compare", shop / DEMO, "--stock", tmp_path, "--format", "html", "--time-limit", 5)
    assert code == 1
    assert "none of" in Page(out).text


# RESC1608X55N is 1.6 x 0.8 mm by the naming convention of IPC-7351; any chip would do.
def test_copper_alone_is_placed_neither_by_machine_nor_by_hand(make_board, shop):
    rows = ["R1,10,10,0,top,v,RESC1608X55N", "W1,20,10,0,top,v,strap", "J1,30,10,0,top,v,pins"]
    more = 'length = "100 mm"\nwidth = "80 mm"\n[mounting]\nW1 = "none"\nJ1 = "through hole"\n'
    found = plan([make_board(rows, toml=more)], shop / "lines" / "mixed.line.toml", settings=QUICK)
    (quote,) = quotes(found, 30.0)
    figures = {f.label: f.value for _, section in quote.sections for f in section}
    assert {c.name: c.parts for c in quote.classes}["all"] == 2
    assert (figures["by machine"], figures["by hand or odd-form"], figures["hand minutes"]) == ("1", "1", "0.5")
    assert figures["distinct part numbers"] == "2"


# RESC1608X55N is 1.6 x 0.8 mm by the naming convention of IPC-7351; any chip would do.
def test_every_paper_of_a_board_that_goes_in_panels_counts_for_the_panel_and_tells_what_a_board_takes(make_board, shop):
    rows = ["R1,10,10,0,top,v,RESC1608X55N", "FID1,2,2,0,top,,", "FID2,18,18,0,top,,", "J1,5,15,0,top,v,pins"]
    more = 'length = "20 mm"\nwidth = "20 mm"\nthickness = "1.6 mm"\n[mounting]\nJ1 = "through hole"\n'
    found = plan([make_board(rows, toml=more)], shop / "lines" / "mixed.line.toml", settings=QUICK)
    panel = found.reports[0].in_panel.panel.source
    boards = panel.columns * panel.rows
    assert boards > 1
    (quote,) = quotes(found, 30.0)
    figures = {f.label: f for _, section in quote.sections for f in section}
    assert quote.per == f"panel of {boards} boards"
    assert (figures["by machine"].value, figures["by machine"].note) == (str(boards), "1 a board")
    assert figures["by hand or odd-form"].value == str(boards)
    assert {c.name: c.parts for c in quote.classes}["all"] == 2 * boards
    (row,) = hand_rows(found.plan, found.given.by_hand, 30.0)
    assert (row.count, row.refs) == (boards, ("J1",))
    (made,) = plan_json(found.plan)["finished_boards"]
    assert made["boards_per_panel"] == boards
    assert made["line_seconds_per_board_s"].high == pytest.approx(made["line_seconds_s"].high / boards)
    each = f"{made['line_seconds_per_board_s'].high:.2f} s a board"
    for text in (quote_text([quote]), plan_text(found.plan)):
        assert each in " ".join(text.split())
    assert f"3600 s / cycle of a panel × {boards} = " in plan_text(found.plan)
    for text in (plan_page(found.plan), quote_text([quote])):
        assert f"in panels of {boards}" in " ".join(text.split())
