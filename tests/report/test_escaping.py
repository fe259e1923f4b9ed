"""Whatever a customer's texts hold, every document gives back the same strings to an independent reader."""

import csv
import io
import json
import re
import tempfile
import unicodedata
from html.parser import HTMLParser
from pathlib import Path

from depth import sample_size
from hypothesis import given, settings, strategies as st
from python_calamine import CalamineWorkbook

from capcheck.checking.answer import check
from capcheck.report.formats import json as json_format, xlsx
from capcheck.report.page.page import html_report
from capcheck.report.parts_table import parts_csv
from capcheck.values import visible

spiteful = st.one_of(
    st.text(alphabet=st.characters(blacklist_categories=("Cs", "Cc", "Cn", "Zl", "Zp")), min_size=1, max_size=40),
    st.sampled_from(
        ["<b>&amp;</b>", "'\"`", "]]>", "{{x}}", "=1+1", "+1", "-1|cmd", "@x", "\u202etxt", "\\<", "a" * 10_000]
    ),
).filter(lambda text: text.strip() == text and not text.isspace() and "," not in text)


class Text(HTMLParser):
    def __init__(self, page):
        super().__init__()
        self.seen = []
        self.feed(page)

    def handle_data(self, data):
        self.seen.append(data)


def board_of(folder, number):
    (folder / "placements.csv").write_text(
        "Ref,X [mm],Y [mm],Rotation,Side,Value,Footprint\nU1,10,10,0,top,v,mystery\nU2,30,10,0,top,v,mystery\n"
    )
    with (folder / "bom.csv").open("w", newline="", encoding="utf-8") as file:
        csv.writer(file).writerows([["Refs", "Part number"], ["U1", number], ["U2", "P-2"]])
    (folder / "board.toml").write_text(
        'placements = "placements.csv"\nbom = "bom.csv"\nmounting = { "U*" = "surface" }\n'
    )


def plain(text):
    """Compare texts without marks of direction, whose showing is a matter of the reader."""
    return "".join(c for c in unicodedata.normalize("NFKC", text) if unicodedata.category(c) != "Cf").strip()


def of_json(report, read):
    return json.loads(json_format.render(report))["parts"][0]["part_number"] == read


def of_csv(report, read):
    rows = list(csv.DictReader(io.StringIO(parts_csv(report.board, report))))
    return rows[0]["part_number"].removeprefix("'") == visible(read).removeprefix("'")


def of_workbook(report, read):
    sheet = CalamineWorkbook.from_filelike(io.BytesIO(xlsx.render(report))).get_sheet_by_name("parts").to_python()
    told = plain(str(sheet[1][sheet[0].index("part_number")]))
    return told in {plain(visible(read)), f"{plain(read)}.0"}  # a typed number may come back as a float


def of_page(report, read):
    seen = plain(re.sub(r"\s+", " ", "".join(Text(html_report(report)).seen)))
    return re.sub(r"\s+", " ", plain(visible(read)))[:60] in seen


@settings(max_examples=sample_size(25))
@given(number=spiteful)
def test_a_part_number_comes_back_as_it_was(shop, number):
    with tempfile.TemporaryDirectory() as name:
        board_of(Path(name), number)
        report = check(name, line=shop / "lines" / "mixed.line.toml")
    read = report.board.types[int(report.board.placements.part_type[0])].part_number
    for comes_back in (of_json, of_csv, of_workbook, of_page):
        assert comes_back(report, read), comes_back.__name__
