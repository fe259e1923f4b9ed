"""The pages of the reference: none is missing, every link leads somewhere, nothing of a rule is taken for markup.

Figures: invented, in rules that name nothing.
"""

import json
import re
from functools import cache
from html.parser import HTMLParser
from pathlib import Path

import pytest

from capcheck.cli import main
from capcheck.engine import all_guidelines
from capcheck.facts import FACTS
from capcheck.lexicon import cautions
from capcheck.shop import rules_that_ship

ENDINGS = {"html": ".html", "markdown": ".md"}


@pytest.fixture(scope="module", params=ENDINGS)
def written(request, tmp_path_factory):
    folder = tmp_path_factory.mktemp("docs")
    assert main(["docs", str(folder / "reference"), "--format", request.param, "--quiet"]) == 0
    files = (folder / "reference").rglob("*.*")
    return request.param, {file: file.read_text(encoding="utf-8") for file in files}, folder / "reference"


class _Text(HTMLParser):
    def __init__(self):
        super().__init__()
        self.text, self.links, self.names, self.tags = "", [], set(), set()

    def handle_starttag(self, tag, attrs):
        self.tags.add(tag)
        self.links += [value for name, value in attrs if name == "href"]
        self.names |= {value for name, value in attrs if name == "id"}

    def handle_data(self, data):
        self.text += data


@cache
def _read(form, text):
    """The text, links and anchors of a page."""
    if form == "html":
        page = _Text()
        page.feed(text)
        return " ".join(page.text.split()), page.links, page.names
    plain = re.sub(r"<!-- -->|\\(?=[^A-Za-z0-9\s])", "", text)
    return " ".join(plain.split()), re.findall(r"\]\(([^)]+)\)", text), set(re.findall(r'<a id="(\w+)">', text))


def test_there_is_a_page_for_each_rule_and_fact_and_what_else_is_asked(written):
    form, files, top = written
    names = {str(file.relative_to(top))[: -len(ENDINGS[form])] for file in files}
    general = {f"files/{name}" for name in ("machine", "line", "board", "configuration")}
    general |= {"index", "guidelines", "outcomes", "formats"}
    facts = {f"facts/{fact.name}" for fact in FACTS}
    assert names == general | facts | {f"rules/{rule.id}" for rule in rules_that_ship()}


def test_every_link_leads_to_a_page_that_is_there_and_the_index_to_all(written):
    form, files, top = written
    read = {file: _read(form, text) for file, text in files.items()}
    for file, (_, links, _) in read.items():
        for link in links:
            to, _, place = link.partition("#")
            other = Path(file.parent, to).resolve()
            assert other in read, (file.name, link)
            assert not place or place in read[other][2], (file.name, link)
    index = top / f"index{ENDINGS[form]}"
    assert {Path(top, link).resolve() for link in read[index][1]} == set(read) - {index}


def test_a_rules_page_says_what_why_what_to_do_and_whence(written):
    form, files, top = written
    for rule in rules_that_ship():
        text, _, _ = _read(form, files[top / f"rules/{rule.id}{ENDINGS[form]}"])
        for said in (rule.title, rule.why, rule.remedy, rule.basis, rule.headline, *(g.title for g in rule.guidelines)):
            assert " ".join(said.split()) in text, (rule.id, said)


def test_every_page_carries_the_cautions(written):
    form, files, _ = written
    for file, text in files.items():
        assert cautions() in _read(form, text)[0], file.name


def test_the_guidelines_are_a_numbered_list(written):
    form, files, top = written
    text, _, names = _read(form, files[top / f"guidelines{ENDINGS[form]}"])
    assert {name for name in names if re.fullmatch(r"g\d+", name)} == {f"g{number}" for number in all_guidelines()}
    assert all(f"[{g.number}]" in text and g.title in text for g in all_guidelines().values())


HOSTILE = """
[[rule]]
id = "odd-text"
title = "A title with <script>alert(1)</script> and | pipes and [a](https://example.com)"
subject = "part"
require = "part.height < limits.most"
message = "{part.ref}: {part.height} | too <b>tall</b>"
why = "Since <img src=x> and *stars*."
remedy = "None | at all"
basis = "invented"
limits = { most = "12 mm" }
"""


def test_what_a_shop_writes_is_text_on_its_page(run, tmp_path):
    rules = tmp_path / "shop.toml"
    rules.write_text(HOSTILE, encoding="utf-8")
    code, _, err = run("docs", tmp_path / "d", "--rules", rules, "--select", "odd-text")
    assert code == 0, err
    page = _Text()
    page.feed((tmp_path / "d/rules/odd-text.html").read_text(encoding="utf-8"))
    assert not {"script", "img", "b"} & page.tags
    assert "<script>alert(1)</script>" in page.text
    assert "12 mm" in page.text
    assert run("docs", tmp_path / "m", "--rules", rules, "--select", "odd-text", "--format", "markdown")[0] == 0
    text = (tmp_path / "m/rules/odd-text.md").read_text(encoding="utf-8")
    assert "<script>" not in text
    assert "](https" not in text
    rows = [line for line in text.splitlines() if line.startswith("| message")]
    assert len(re.findall(r"(?<!\\)\|", rows[0])) == 3


def test_results_link_to_their_rules_page_where_an_address_is_configured(run, shop, tmp_path):
    config = tmp_path / "capcheck.toml"
    config.write_text('documentation = "https://example.com/reference/"\n', encoding="utf-8")
    board, line = shop / "flow-sensor", shop / "lines/mixed.line.toml"
    words = ["check", board, "--line", line, "--format", "sarif"]
    rules = json.loads(run(*words, "--config", config)[1])["runs"][0]["tool"]["driver"]["rules"]
    assert {rule["helpUri"] for rule in rules} == {f"https://example.com/reference/rules/{r['id']}.html" for r in rules}
    assert "helpUri" not in run(*words)[1]
    words[-1] = "html"
    page = run(*words, "--config", config)[1]
    linked = set(re.findall(r'href="https://example.com/reference/rules/([^"]+)\.html" rel="noreferrer"><code>', page))
    assert linked == {rule["id"] for rule in rules}
    assert 'href="http' not in run(*words)[1]
    config.write_text('documentation = "ftp://example.com"\n', encoding="utf-8")
    code, _, err = run(*words, "--config", config)
    assert code == 2
    assert "documentation" in err


def test_a_file_that_stands_in_the_way_is_an_error(run, tmp_path):
    (tmp_path / "d").write_text("a file", encoding="utf-8")
    assert run("docs", tmp_path / "d", "--select", "part-height")[0] == 2
    assert (tmp_path / "d").read_text(encoding="utf-8") == "a file"
