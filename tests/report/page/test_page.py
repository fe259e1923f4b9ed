"""The page: whole without a network, safe whatever the texts say. Read back with the standard library's parser.

Figures: invented, those of fixtures/ and of what the test writes.
"""

import re
from html.parser import HTMLParser

import pytest

from capcheck.checking.answer import check
from capcheck.lexicon import cautions
from capcheck.report.page.page import html_report


class Page(HTMLParser):
    """Gathers the text that a reader sees, the elements, and everything that would be fetched."""

    def __init__(self, text):
        super().__init__()
        self.text = ""
        self.elements = []
        self.fetched = []
        self.hidden = 0
        self.feed(text)

    def handle_starttag(self, tag, attributes):
        self.elements.append(tag)
        self.hidden += tag in {"script", "style"}
        for name, value in attributes:
            if name in {"src", "href", "xlink:href", "action", "poster"} and not (value or "").startswith(
                ("#", "data:")
            ):
                self.fetched.append((tag, name, value))
            assert not name.startswith("on"), f"{tag} has a handler in its markup: {name}"

    def handle_endtag(self, tag):
        self.hidden -= tag in {"script", "style"}

    def handle_data(self, data):
        if not self.hidden:
            self.text += data


@pytest.fixture
def page(shop):
    def make(line="chip"):
        report = check(shop / "irrigation-controller", line=shop / "lines" / f"{line}.line.toml")
        return report, Page(html_report(report))

    return make


def test_the_page_says_what_the_report_says(page):
    report, parsed = page()
    for text in ("FAIL", "Irrigation controller", "part-height", "ball-recognition", "J14", cautions()):
        assert text.lower() in parsed.text.lower()
    for count in (report.totals.failed, report.totals.warned, report.totals.passed):
        assert str(count) in parsed.text
    for item in report.inputs:
        assert item.sha256[:12] in parsed.text


def test_a_fact_that_is_the_finding_is_not_said_twice(page):
    report, parsed = page("full")
    assert report.in_panel is not None
    (proposed,) = [f for f in report.findings if f.rule == "board-passes-line" and not f.undecided]
    assert " ".join(parsed.text.split()).count(proposed.told(reference=False)) == 1
    for meaningless in ("size code settled", "half turn miss"):
        assert meaningless not in parsed.text


def test_the_page_fetches_nothing(page):
    _, parsed = page()
    assert parsed.fetched == []
    assert "iframe" not in parsed.elements


def test_hostile_texts_stay_texts(hostile_board, hostile_texts, shop):
    report = check(hostile_board, line=shop / "lines" / "mixed.line.toml")
    parsed = Page(html_report(report))
    honest = Page(html_report(check(shop / "flow-sensor", line=shop / "lines" / "mixed.line.toml")))
    assert parsed.elements.count("script") == honest.elements.count("script")
    assert parsed.elements.count("img") == 0
    flat = re.sub(r"\s+", " ", parsed.text)
    for text in hostile_texts:
        shown = text[:40].replace("\u202e", "")
        assert shown in flat.replace("\u202e", ""), text[:40]


def test_a_board_of_five_thousand_parts_stays_under_three_megabytes(large_board, shop):
    report = check(large_board(5000), line=shop / "lines" / "mixed.line.toml")
    assert len(html_report(report).encode()) < 3_000_000
