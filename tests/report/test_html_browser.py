"""The page in a real browser: from the table to the picture and back, filtering, no errors on the console.

Needs Debian's packages chromium and chromium-driver; .ci/run installs them.

Figures: invented, those of fixtures/ and of what the test writes.
"""

import base64
import re
import shutil

import pytest
from depth import sample_size
from selenium import webdriver
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys
from selenium.webdriver.support.wait import WebDriverWait

from capcheck.checking.answer import check
from capcheck.planning import PlanSettings, plan
from capcheck.report import difference_page, plan_page, quote_page, quotes, set_up_page
from capcheck.report.page.page import html_report
from capcheck.revisions import compare_revisions, read_revision

BROWSER, DRIVER = shutil.which("chromium"), shutil.which("chromedriver")

QUICK = PlanSettings(time_limit=0.4)

pytestmark = pytest.mark.skipif(not (BROWSER and DRIVER), reason="no chromium with its driver on this machine")


@pytest.fixture(scope="module")
def browser(tmp_path_factory):
    options = webdriver.ChromeOptions()
    options.binary_location = BROWSER
    for switch in (
        "--headless",
        "--no-sandbox",
        "--disable-gpu",
        "--disable-quic",
        "--no-first-run",
        "--disable-background-networking",
        "--disable-component-update",
        "--disable-sync",
        f"--user-data-dir={tmp_path_factory.mktemp('profile')}",
        "--window-size=1280,1600",
    ):
        options.add_argument(switch)
    options.set_capability("goog:loggingPrefs", {"browser": "ALL"})
    driver = webdriver.Chrome(options=options, service=webdriver.ChromeService(DRIVER))
    yield driver
    driver.quit()


@pytest.fixture
def opened(browser, shop, tmp_path):
    def open_page(board=None, line="chip"):
        report = check(board or shop / "irrigation-controller", line=shop / "lines" / f"{line}.line.toml")
        file = tmp_path / "report.html"
        file.write_text(html_report(report), encoding="utf-8")
        browser.get(file.as_uri())
        return browser

    return open_page


def view_of(browser):
    return browser.execute_script("return document.querySelector('#picture svg').getAttribute('viewBox')")


def complaints(browser):
    return [entry for entry in browser.get_log("browser") if entry["level"] in {"SEVERE", "WARNING"}]


def press(page, element):
    """Click on an element wherever the page has to be scrolled for it."""
    page.execute_script("arguments[0].scrollIntoView({block: 'center', behavior: 'instant'})", element)
    element.click()


def names_on(page):
    """Return the names drawn on the picture as (text, left, top, right, bottom, size) on the screen."""
    page.execute_async_script("requestAnimationFrame(() => requestAnimationFrame(arguments[0]))")
    return page.execute_script(
        "return [...document.querySelectorAll('#picture .overlay .name')].map(n => {"
        "const b = n.getBoundingClientRect(); return [n.textContent, b.left, b.top, b.right, b.bottom, b.height]})"
    )


def test_a_click_in_the_table_shows_the_part_in_the_picture_and_back(opened):
    page = opened()
    button = next(b for b in page.find_elements(By.CSS_SELECTOR, "#findings button.pin") if b.text == "J14")
    press(page, button)
    assert "J14" in page.find_element(By.ID, "chosen").text
    shown = view_of(page)
    page.find_element(By.ID, "closer").click()
    assert view_of(page) != shown
    page.find_element(By.ID, "whole").click()
    piece = page.find_element(By.CSS_SELECTOR, "#picture svg [data-r]")
    page.execute_script("arguments[0].dispatchEvent(new MouseEvent('click', {bubbles: true}))", piece)
    assert page.find_element(By.ID, "chosen").text != ""
    assert complaints(page) == []


def test_words_leave_only_the_lines_that_hold_them(opened):
    page = opened()
    page.find_element(By.ID, "words").send_keys("J14")
    visible = [row.text for row in page.find_elements(By.CSS_SELECTOR, "#findings tr[data-line]") if row.is_displayed()]
    assert visible
    assert all("J14" in text for text in visible)
    page.find_element(By.ID, "words").send_keys(Keys.CONTROL, "a", Keys.NULL, Keys.DELETE)
    assert len([r for r in page.find_elements(By.CSS_SELECTOR, "#findings tr[data-line]") if r.is_displayed()]) > len(
        visible
    )
    assert complaints(page) == []


def test_words_leave_only_the_names_and_findings_that_they_are_about(opened):
    """A thinned body keeps no name and no flag, and the index beneath shows the lines that are left."""
    page = opened()
    index = "return [...document.querySelectorAll('#index > *')].filter(item => !item.hidden).length"
    names, items = len(names_on(page)), page.execute_script(index)
    page.find_element(By.ID, "words").send_keys("J14")
    assert [name[0] for name in names_on(page)] in ([], ["J14"])
    assert 0 < page.execute_script(index) < items
    page.find_element(By.ID, "words").send_keys(Keys.CONTROL, "a", Keys.NULL, Keys.DELETE)
    assert (len(names_on(page)), page.execute_script(index)) == (names, items)


def test_no_table_reaches_beyond_its_column(opened):
    page = opened()
    page.set_window_size(1400, 1000)
    beyond = page.execute_script(
        "return [...document.querySelectorAll('main section table')].filter(table => !table.closest('.wide')"
        " && table.getBoundingClientRect().right > table.closest('section').getBoundingClientRect().right + 1)"
        ".map(table => table.closest('section').id)"
    )
    page.set_window_size(1280, 1600)
    assert beyond == []


def test_hostile_texts_run_nothing(opened, hostile_board):
    page = opened(hostile_board, "mixed")
    assert page.execute_script("return document.querySelectorAll('img').length") == 0
    assert complaints(page) == []


def test_a_large_board_opens_and_filters(opened, large_board):
    def in_view(page):
        return len([r for r in page.find_elements(By.CSS_SELECTOR, "tr[data-line]") if r.is_displayed()])

    page = opened(large_board(5000))
    before = WebDriverWait(page, 20).until(in_view)  # a busy machine lays a page of this size out late
    page.find_element(By.ID, "words").send_keys("smallest-chip")
    assert 0 < in_view(page) < before
    assert complaints(page) == []


def test_names_have_one_size_never_meet_and_become_more_as_one_comes_closer(opened, large_board):
    page = opened(large_board(400))
    far = names_on(page)
    for _ in range(3):
        page.find_element(By.ID, "closer").click()
    close = names_on(page)
    assert far
    assert close
    for names in (far, close):
        assert max(size for *_, size in names) - min(size for *_, size in names) < 1.0
        for n, (_, left, top, right, bottom, _) in enumerate(names):
            for _, left2, top2, right2, bottom2, _ in names[n + 1 :]:
                assert right <= left2 + 1 or right2 <= left + 1 or bottom <= top2 + 3 or bottom2 <= top + 3
    shown = page.execute_script("return document.querySelectorAll('#picture [data-r]').length")
    assert len(far) < shown


def test_one_side_fills_the_frame_and_the_other_lies_faint_beneath(opened):
    page = opened()
    assert page.execute_script("return document.querySelectorAll('#picture g.side').length") == 2
    shapes = {}
    for side in ("top", "bottom", "both"):
        press(page, page.find_element(By.CSS_SELECTOR, f"input[name=side][value={side}]"))
        beneath = page.execute_script(
            "return [...document.querySelectorAll('#picture g.beneath')].map(g => g.dataset.side)"
        )
        assert beneath == {"top": ["bottom"], "bottom": ["top"], "both": []}[side]
        shapes[side] = view_of(page)
    assert len(set(shapes.values())) == 3
    page.find_element(By.TAG_NAME, "body").send_keys("f")
    assert page.execute_script("return document.querySelectorAll('#picture g.beneath').length") == 1
    assert complaints(page) == []


def test_the_picture_opens_on_the_side_of_the_first_finding_and_else_on_the_fuller_one(opened, make_board):
    chip = "RESC2012X55N"
    below = [f"C{n},{10 * n},40,0,bottom,1k,{chip}" for n in range(1, 5)]
    shown = "return document.querySelector('input[name=side]:checked').value"
    page = opened(make_board([f"R1,10,10,0,top,1k,{chip}", f"R2,10.5,10,0,top,1k,{chip}", *below]))
    assert page.execute_script(shown) == "top"
    below[1] = below[1].replace("20,40", "10.5,40")
    page = opened(make_board([f"R1,10,10,0,top,1k,{chip}", f"R2,20,10,0,top,1k,{chip}", *below]))
    assert page.execute_script(shown) == "bottom"
    assert complaints(page) == []


def test_what_the_sieve_hides_is_hidden_in_the_picture_too(opened):
    page = opened()

    def drawn_as(grade):
        return page.execute_script(f"return document.querySelectorAll('#picture [data-r][data-grade={grade}]').length")

    assert drawn_as("warn")
    press(page, page.find_element(By.CSS_SELECTOR, "input[name=grade][value=warn]"))
    assert drawn_as("warn") == 0
    names_on(page)  # flags are drawn with the next frame
    numbers = page.execute_script("return document.querySelectorAll('#picture .overlay .flagged.warn').length")
    assert numbers == 0


def test_keys_go_from_finding_to_finding_and_the_address_brings_it_back(opened):
    page = opened()
    body = page.find_element(By.TAG_NAME, "body")

    def line():
        hits = page.find_elements(By.CSS_SELECTOR, "tr.hit")
        return hits[0].get_attribute("data-line") if hits else None

    seen = []
    for key in "nnp":
        body.send_keys(key)
        names_on(page)
        seen.append(line())
    assert seen[0] == seen[2] != seen[1]
    assert f"line={seen[2]}" in page.current_url
    page.refresh()
    assert line() == seen[2]
    page.find_element(By.CSS_SELECTOR, "#words").send_keys("n")
    assert line() == seen[2]
    assert complaints(page) == []


def test_a_flag_leads_to_the_part_that_it_stands_beside(opened):
    page = opened()
    names_on(page)
    flag = page.find_element(By.CSS_SELECTOR, "#picture .overlay .flagged circle")
    row = page.execute_script("return arguments[0].parentNode.dataset.r", flag)
    press(page, flag)
    ref = page.execute_script("return JSON.parse(document.getElementById('data').textContent).refs[arguments[0]]", row)
    assert ref in page.find_element(By.ID, "chosen").text


CLICKED = """
const at = new Map(), refs = JSON.parse(document.getElementById('data').textContent).refs;
document.getElementById('picture').scrollIntoView({block: 'center', behavior: 'instant'});
for (const name of document.querySelectorAll('#picture .overlay .name')) {
  const box = name.getBoundingClientRect(), x = (box.left + box.right) / 2, y = (box.top + box.bottom) / 2;
  at.set(name.textContent, [x, y]);
}
const led = {};
for (const [text, [x, y]] of at) {
  const place = document.elementFromPoint(x, y);
  const how = {clientX: x, clientY: y, button: 0, bubbles: true, pointerId: 1};
  place.dispatchEvent(new PointerEvent('pointerdown', how));
  place.dispatchEvent(new PointerEvent('pointerup', how));
  led[text] = document.getElementById('chosen').querySelector('b')?.textContent || '';
  document.getElementById('clear').click();
  document.getElementById('whole').click();
  document.getElementById('picture').scrollIntoView({block: 'center', behavior: 'instant'});
}
return led;
"""


def test_a_click_on_a_name_chooses_its_part_wherever_the_name_stands(opened):
    """Also where it stands beside a small body, or over the outline that another body may have."""
    led = opened().execute_script(CLICKED)
    assert len(led) > 20
    assert {name: ref for name, ref in led.items() if ref != name} == {}


def test_a_chosen_gap_is_drawn_with_its_length(opened, make_board):
    # Bodies of 5 mm, 5.1 mm from middle to middle.
    close = [f"U{n},10,{10 + 5.1 * n},0,top,v,QFN50P500X500X100-33N" for n in (1, 2)]
    page = opened(make_board(close), "full")
    pin = page.find_element(By.CSS_SELECTOR, 'section[aria-label="gap"] .pin')
    press(page, pin)
    texts = [text for text, *_ in names_on(page)]
    assert any(text.endswith("mm") for text in texts), texts
    assert page.find_elements(By.CSS_SELECTOR, "#picture .gap")


def test_a_layer_tells_its_answer_in_words_on_each_body(opened):
    page = opened()
    page.execute_script(
        "const s = document.getElementById('layer'); s.value = 'height'; s.dispatchEvent(new Event('change'))"
    )
    texts = {text for text, *_ in names_on(page)}
    assert texts
    assert all(text == "?" or float(text) > 0 for text in texts)
    assert "mm" in page.find_element(By.ID, "tones").text


def test_the_page_fits_a_narrow_screen(opened):
    page = opened()
    page.execute_cdp_cmd(
        "Emulation.setDeviceMetricsOverride", {"width": 400, "height": 850, "deviceScaleFactor": 1, "mobile": False}
    )
    try:
        assert page.execute_script("return document.documentElement.scrollWidth") <= 400
    finally:
        page.execute_cdp_cmd("Emulation.clearDeviceMetricsOverride", {})


def pages(page):
    printed = page.execute_cdp_cmd("Page.printToPDF", {"preferCSSPageSize": True, "paperWidth": 8.27})
    return len(re.findall(rb"/Type\s*/Page\b", base64.b64decode(printed["data"])))


@pytest.fixture
def papers(browser, shop, tmp_path):
    """Return a function that makes a paper of a plan and opens it; on paper of A4, as its own style asks for."""

    def open_paper(make, *boards, line="full"):
        found = plan(boards or [shop / "irrigation-controller"], shop / "lines" / f"{line}.line.toml", settings=QUICK)
        file = tmp_path / "paper.html"
        file.write_text(make(found), encoding="utf-8")
        browser.get(file.as_uri())
        return browser

    return open_paper


def test_the_quote_sheet_prints_on_one_page_a_board(papers, shop, hostile_board, large_board):
    def sheet(found):
        return quote_page(quotes(found, 6.0))

    assert pages(papers(sheet)) == 1
    assert pages(papers(sheet, hostile_board, line="mixed")) == 1
    assert pages(papers(sheet, large_board(800), line="mixed")) == 1
    assert pages(papers(sheet, shop / "irrigation-controller", shop / "flow-sensor", line="mixed")) == 2
    assert complaints(papers(sheet)) == []


def test_lists_repeat_their_heads_on_each_page_and_cut_no_row(papers):
    page = papers(lambda found: set_up_page(found.plan))
    page.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "print"})
    try:
        assert pages(page) > 1
        of = "return [...new Set([...document.querySelectorAll('{}')].map(e => getComputedStyle(e).{}))]"
        assert page.execute_script(of.format("thead", "display")) == ["table-header-group"]
        assert page.execute_script(of.format("tbody tr", "breakInside")) == ["avoid"]
    finally:
        page.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": ""})


def test_a_plan_on_paper_breaks_no_slot_and_has_no_empty_column(papers):
    page = papers(lambda found: plan_page(found.plan))
    page.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "print"})
    # A4 without margins of 12 mm: 186 mm, at 96 px an inch.
    page.execute_cdp_cmd(
        "Emulation.setDeviceMetricsOverride", {"width": 703, "height": 900, "deviceScaleFactor": 1, "mobile": False}
    )
    try:
        tables = page.execute_script(
            "return [...document.querySelectorAll('.feeders')].map(t => [...t.rows].slice(1).map("
            "r => [...r.cells].map(c => c.textContent.trim())))"
        )
        assert tables
        assert all(any(column) for rows in tables for column in zip(*rows, strict=True))
        lines = page.execute_script(
            "return [...document.querySelectorAll('.feeders td[data-l=slot]')].map(c => {"
            "const r = document.createRange(); r.selectNodeContents(c);"
            "return new Set([...r.getClientRects()].map(b => b.top)).size})"
        )
        assert set(lines) == {1}
    finally:
        page.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": ""})
        page.execute_cdp_cmd("Emulation.clearDeviceMetricsOverride", {})


@pytest.mark.parametrize("make", [lambda p: plan_page(p.plan), lambda p: quote_page(quotes(p))])
def test_papers_fit_a_narrow_screen_and_complain_of_nothing(papers, make, hostile_board):
    for boards, line in (((), "full"), ((hostile_board,), "mixed")):
        page = papers(make, *boards, line=line)
        size = {"width": 400, "height": 850, "deviceScaleFactor": 1, "mobile": False}
        page.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", size)
        try:
            assert page.execute_script("return document.documentElement.scrollWidth") <= 400
        finally:
            page.execute_cdp_cmd("Emulation.clearDeviceMetricsOverride", {})
        assert complaints(page) == []


def test_a_board_prints_on_one_page_and_all_lists_on_request(opened, large_board):
    page = opened(large_board(sample_size(2400, 480)))
    assert pages(page) == 1
    page.execute_script("document.getElementById('annexes').checked = true")
    assert pages(page) > 1


def test_two_revisions_lie_over_one_another_and_a_line_leads_to_its_part_on_its_side(browser, shop, tmp_path):
    new = tmp_path / "new"
    shutil.copytree(shop / "irrigation-controller", new)
    placed = new / "placements.csv"
    rows = [line.split(",") for line in placed.read_text(encoding="utf-8").splitlines()]
    for row in rows:
        row[6] = "90" if row[0] == "U5" else row[6]
        row[4] = f"{float(row[4]) + 2:.3f}" if row[0] == "C27" else row[4]
    placed.write_text("\n".join(map(",".join, rows)) + "\n", encoding="utf-8")
    old = read_revision(str(shop / "irrigation-controller"), check)
    file = tmp_path / "difference.html"
    file.write_text(difference_page(compare_revisions(old, read_revision(str(new), check))), encoding="utf-8")
    browser.get(file.as_uri())
    sides = {row[0]: row[3] for row in rows}
    for ref in ("U5", "C27"):
        press(browser, next(b for b in browser.find_elements(By.CSS_SELECTOR, "main button.pin") if b.text == ref))
        chosen = browser.find_element(By.CSS_SELECTOR, "input[name=side]:checked").get_attribute("value")
        assert (ref, chosen) == (ref, sides[ref])
        assert len(browser.find_elements(By.CSS_SELECTOR, "#picture .ring-lit")) == 2  # where it was, and where it is
    press(browser, browser.find_element(By.ID, "earlier"))
    assert not any(piece.is_displayed() for piece in browser.find_elements(By.CSS_SELECTOR, "#picture .was"))
    press(browser, browser.find_element(By.ID, "clear"))
    assert browser.find_elements(By.CSS_SELECTOR, "#picture .lit") == []
    assert complaints(browser) == []
