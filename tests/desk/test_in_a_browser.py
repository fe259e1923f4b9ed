"""The desk in a real browser: from an archive that is dropped to the verdict, without an error on the console.

Needs Debian's packages chromium and chromium-driver; .ci/run installs them.

Figures: invented, those of fixtures/.
"""

from __future__ import annotations

import base64
import shutil
import threading
from pathlib import Path

import pytest
import uvicorn
from selenium import webdriver
from selenium.webdriver.common.by import By
from selenium.webdriver.support.wait import WebDriverWait

from capcheck.desk.web import app_of

BROWSER, DRIVER = shutil.which("chromium"), shutil.which("chromedriver")

pytestmark = pytest.mark.skipif(not (BROWSER and DRIVER), reason="no chromium with its driver on this machine")

DROP = """
const [name, data] = arguments;
const bytes = Uint8Array.from(atob(data), (one) => one.charCodeAt(0));
const moved = new DataTransfer();
moved.items.add(new File([bytes], name));
document.body.dispatchEvent(new DragEvent("drop", {bubbles: true, cancelable: true, dataTransfer: moved}));
"""


@pytest.fixture
def address(desk):
    server = uvicorn.Server(uvicorn.Config(app_of(desk, jobs=1, cold=True), port=0, log_level="error"))
    running = threading.Thread(target=server.run)
    running.start()
    while not server.started and running.is_alive():
        running.join(0.02)
    yield f"http://127.0.0.1:{server.servers[0].sockets[0].getsockname()[1]}"
    server.should_exit = True
    running.join(20)


@pytest.fixture
def browser(tmp_path):
    options = webdriver.ChromeOptions()
    options.binary_location = BROWSER
    for switch in ("--headless", "--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-background-networking"):
        options.add_argument(switch)
    options.add_argument(f"--user-data-dir={tmp_path / 'profile'}")
    options.set_capability("goog:loggingPrefs", {"browser": "ALL"})
    driver = webdriver.Chrome(options=options, service=webdriver.ChromeService(DRIVER))
    yield driver
    driver.quit()


def test_an_archive_is_dropped_and_the_verdict_of_each_line_read(demo_shop, address, browser, tmp_path):
    archive = shutil.make_archive(str(tmp_path / "Irrigation <b>2"), "zip", demo_shop[1])
    data = base64.b64encode(Path(archive).read_bytes()).decode()
    browser.get(address)
    wait = WebDriverWait(browser, 60)
    browser.execute_script(DROP, "Irrigation <b>2.zip", data)
    wait.until(lambda b: "/quotes/1" in b.current_url)
    link = wait.until(lambda b: b.find_elements(By.CSS_SELECTOR, ".slip h3 a"))[0]
    link.click()  # while it is being checked: the areas fill
    rows = wait.until(lambda b: b.find_elements(By.CSS_SELECTOR, "#lines tbody .mark"))
    assert [row.text for row in rows] == ["does not build", "builds if"]
    wait.until(lambda b: b.find_elements(By.CSS_SELECTOR, "#downloads a"))
    assert browser.find_elements(By.CSS_SELECTOR, "#picture svg [data-r]")
    assert "Irrigation" in browser.find_element(By.TAG_NAME, "h1").text
    browser.find_element(By.LINK_TEXT, "Line 2, chips").click()
    assert "What stops it" in browser.find_element(By.CSS_SELECTOR, "#lines tbody.chosen").text
    browser.back()
    chosen = browser.find_element(By.CSS_SELECTOR, "#lines tbody.chosen th").text
    assert chosen == "Line 3, full"
    assert [entry for entry in browser.get_log("browser") if entry["level"] in {"SEVERE", "WARNING"}] == []
