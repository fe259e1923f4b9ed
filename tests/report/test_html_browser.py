"""The page in a real browser: from the table to the picture and back, filtering, no errors on the console.

Needs Debian's packages chromium and chromium-driver; .ci/run installs them.
"""

import shutil

import pytest
from selenium import webdriver
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys
from selenium.webdriver.support.wait import WebDriverWait

from capcheck.checking.answer import check
from capcheck.report.page.page import html_report

BROWSER, DRIVER = shutil.which("chromium"), shutil.which("chromedriver")

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


def test_a_click_in_the_table_shows_the_part_in_the_picture_and_back(opened):
    page = opened()
    button = next(b for b in page.find_elements(By.CSS_SELECTOR, "#findings button.pin") if b.text == "J14")
    button.click()
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
