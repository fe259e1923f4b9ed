"""The picture shows lands under the bodies, and the ring that is free around fiducials; thousands stay small.

Figures: boards, places and lands are invented.
"""

import re
import xml.etree.ElementTree as ET

import pytest

from capcheck.checking import check
from capcheck.report import board_svg, html_report

SVG = "{http://www.w3.org/2000/svg}"


def groups(text):
    return ET.fromstring(text).findall(f".//{SVG}g[@class='lands']")  # noqa: S314  our own text


def corners(group, css):
    return sum(path.get("d").count("M") for path in group.findall(f"{SVG}path[@class='{css}']"))


def test_each_land_is_drawn_once_those_of_parts_apart(board, resistors):
    rows, mask = resistors
    mask.disc(45, 7, 1)
    (group,) = groups(board_svg(board(rows, mask)))
    assert (corners(group, "land"), corners(group, "land free")) == (24, 1)


def test_lands_lie_under_the_bodies_where_the_layer_has_them(board, resistors):
    text = board_svg(board(*resistors))
    assert text.index('class="lands"') < text.index('class="body')
    (group,) = groups(text)
    first = re.match(r"M([\d.]+) ([\d.]+)h([\d.]+)v([\d.]+)", group.find(f"{SVG}path").get("d"))
    width, height = float(first[3]), float(first[4])
    assert width / height == pytest.approx(0.8 / 0.9, abs=0.1)


def test_a_board_without_layers_has_no_lands_in_its_picture(board, resistors):
    assert groups(board_svg(board(resistors[0]))) == []


def test_five_thousand_lands_stay_small(board, layer):
    places = [(2.5 * (k % 50) + 0.1 * (k % 3), 3.0 * (k // 50)) for k in range(2500)]
    # RESC1608X50N is 1.6 × 0.8 × 0.5 mm by IPC-7351B.
    rows = "".join(f"R{k},10k,RESC1608X50N,{x},{y},0,top\n" for k, (x, y) in enumerate(places))
    mask = layer("Soldermask,Top")
    for x, y in places:
        mask.pair(x, y, size=(0.5, 0.8), pitch=1.2)
    found = board(rows, mask)
    text = board_svg(found)
    (group,) = groups(text)
    assert corners(group, "land") + corners(group, "land free") == 5000
    drawn = text[text.index('<g class="lands">') :]
    assert len(drawn[: drawn.index("</g>")]) < 30 * 5000


def test_the_page_shows_lands_when_they_are_asked_for(board, resistors):
    report = check(board(*resistors, read=False))
    page = html_report(report)
    assert 'id="lands"' in page
    assert "#picture .lands{display:none}" in page
    assert 'class="lands"' in page


def test_a_page_without_layers_asks_for_none(board, resistors):
    page = html_report(check(board(resistors[0], read=False)))
    assert 'id="lands"' not in page
