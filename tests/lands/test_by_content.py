"""Layers whose names and attributes tell nothing are sorted by what holds what, and asked about where that is open.

Figures: boards, places and lands are invented.
"""

import itertools
import time

import pytest

from capcheck.intake.layers import time_allowed
from capcheck.lands import by_content
from capcheck.model import LayerKind, Topic

PLAIN = "%FSLAX46Y46*%\n%MOMM*%\n"


@pytest.fixture
def drawn(resistors, layer):
    """Mask, paste and copper of twelve resistors, none of which says what it is; the mask has six openings more."""
    rows, mask = resistors
    paste, copper = layer(""), layer("")
    for number, line in enumerate(rows.splitlines()):
        x, y = map(float, line.split(",")[3:5])
        paste.pair(x, y, size=(0.7, 0.8))
        copper.pair(x, y, size=(0.7, 0.8))
        for k in range(6):
            copper.track(x, y + 0.1 * k, x + 5, y + 0.1 * k)
        if number < 6:
            mask.disc(x, y + 2, 1.5)
            copper.disc(x, y + 2, 1.4)
    for one in (mask, paste, copper):
        one.text = PLAIN
    return rows, mask, paste, copper


def kinds(found):
    told = [d for d in found.decisions if d.topic is Topic.LAYERS and d.choice.key == "lands.told by content"]
    return {d.place.file.rpartition("/")[2]: d.choice.values["layer"] for d in told}


def asked(found):
    return sorted(n.said.values["file"] for n in found.notes if getattr(n.said, "key", "") == "lands.not told")


def test_each_layer_is_told_by_what_it_holds(board, drawn):
    found = board(*drawn)
    assert kinds(found) == {"layer0.gbr": "mask", "layer1.gbr": "paste", "layer2.gbr": "copper"}
    assert asked(found) == []
    assert len(found.lands.of) == 12
    assert found.lands.layers.kind_of_lands("top") is LayerKind.MASK


def test_of_mask_and_paste_the_one_that_holds_the_other_is_the_mask(board, drawn):
    rows, mask, paste, _ = drawn
    assert kinds(board(rows, paste, mask)) == {"layer0.gbr": "paste", "layer1.gbr": "mask"}


def test_a_mask_is_told_by_openings_wider_than_copper(board, drawn):
    rows, mask, _, copper = drawn
    assert kinds(board(rows, mask, copper)) == {"layer0.gbr": "mask", "layer1.gbr": "copper"}


def test_one_layer_alone_is_asked_about_and_not_used(board, drawn):
    rows, mask, _, _ = drawn
    found = board(rows, mask)
    assert kinds(found) == {}
    assert asked(found) == ["layer0.gbr"]
    assert found.lands is None


def test_two_layers_that_are_alike_are_asked_about(board, drawn):
    rows, _, paste, _ = drawn
    found = board(rows, paste, paste)
    assert kinds(found) == {}
    assert asked(found) == ["layer0.gbr", "layer1.gbr"]


def test_what_does_not_lie_on_the_parts_is_no_layer_of_theirs(board, drawn, layer):
    rows, mask, paste, copper = drawn
    legend = layer("")
    legend.text = PLAIN
    for k in range(20):
        legend.disc(3.1 * k, 40 - 1.7 * k, 0.3)
    found = board(rows, mask, paste, copper, legend)
    assert set(kinds(found)) == {"layer0.gbr", "layer1.gbr", "layer2.gbr"}
    assert asked(found) == []


def test_board_toml_goes_before_the_content(board, drawn):
    rows, mask, paste, copper = drawn
    named = '[layers]\n"layer0.gbr" = "mask top"\n"layer1.gbr" = "none"\n"layer2.gbr" = "none"\n'
    found = board(rows, mask, paste, copper, board__toml=named)
    assert kinds(found) == {}
    assert found.lands.layers.kind_of_lands("top") is LayerKind.MASK


def test_a_frame_around_every_layer_is_no_track(board, resistors, layer):
    """The mask has an opening where copper has no land, and the copper has fewer lines than twice its lands."""
    rows, mask = resistors
    paste, copper = layer(""), layer("")
    for line in rows.splitlines():
        x, y = map(float, line.split(",")[3:5])
        paste.pair(x, y, size=(0.7, 0.8))
        copper.pair(x, y)
        copper.body += "".join(
            f"X{round(1e6 * x)}Y{round(1e6 * (y + k))}D02*\nX{round(1e6 * (x + 2))}Y{round(1e6 * (y + k))}D01*\n"
            for k in range(3)
        )
    mask.disc(50, 50, 3)
    for one in (mask, paste, copper):
        one.text = PLAIN
        one.disc(0, 0, 0.2)
        one.body += "".join(f"X0Y{k}000000D02*\nX1000000Y{k}000000D01*\n" for k in range(200))
    found = kinds(board(rows, mask, paste, copper))
    assert found == {"layer0.gbr": "mask", "layer1.gbr": "paste", "layer2.gbr": "copper"}


LEADS = [(100.0 + 2.5 * k, 30.0) for k in range(8)]
VIAS = [(20.0 + 1.7 * k, 40.0) for k in range(8)]
DRILLS = (
    "M48\n; #@! TF.FileFunction,Plated,1,2,PTH\nMETRIC\nT1C1.000\nT2C0.300\n%\nT1\n"
    + "".join(f"X{x:.3f}Y{y:.3f}\n" for x, y in LEADS)
    + "T2\n"
    + "".join(f"X{x:.3f}Y{y:.3f}\n" for x, y in VIAS)
    + "M30\n"
)


@pytest.fixture
def drilled(resistors, layer):
    """The same of resistors, holes for leads and vias: texts in the mask, and few tracks in the copper."""
    rows, mask = resistors
    paste, copper = layer(""), layer("")
    for line in rows.splitlines():
        x, y = map(float, line.split(",")[3:5])
        paste.pair(x, y)
        copper.pair(x, y)
    for x, y in LEADS:
        mask.disc(x, y, 1.7)
        copper.disc(x, y, 1.6)
    for x, y in VIAS:
        copper.disc(x, y, 0.6)
        copper.track(x, y, x, y + 3)
    mask.disc(50, 60, 0.2)
    mask.body += "".join(f"X{50 + k}000000Y60000000D02*\nX{50 + k}000000Y61000000D01*\n" for k in range(90))
    for one in (mask, paste, copper):
        one.text = PLAIN
    return rows, mask, paste, copper


def test_layers_are_told_by_the_holes_in_their_lands(board, drilled):
    """By strokes alone nothing is told: the mask has more of them than the copper."""
    assert kinds(board(*drilled)) == {}
    found = board(*drilled, holes__drl=DRILLS)
    assert kinds(found) == {"layer0.gbr": "mask", "layer1.gbr": "paste", "layer2.gbr": "copper"}
    assert asked(found) == []


def test_a_mask_alone_is_told_by_the_holes_for_leads_that_it_is_open_over(board, drilled):
    rows, mask, _, _ = drilled
    assert kinds(board(rows, mask, holes__drl=DRILLS)) == {"layer0.gbr": "mask"}


def test_paste_alone_is_asked_about(board, drilled):
    """What is on no hole may be anything that is drawn for parts on the surface."""
    rows, _, paste, _ = drilled
    found = board(rows, paste, holes__drl=DRILLS)
    assert kinds(found) == {}
    assert asked(found) == ["layer0.gbr"]


def test_two_layers_that_are_open_over_leads_are_asked_about(board, drilled):
    rows, mask, _, _ = drilled
    found = board(rows, mask, mask, holes__drl=DRILLS)
    assert kinds(found) == {}
    assert asked(found) == ["layer0.gbr", "layer1.gbr"]


def test_holes_in_another_frame_tell_nothing(board, drilled):
    assert kinds(board(*drilled, holes__drl=DRILLS.replace("X", "X1"))) == {}


def test_laying_layers_onto_the_parts_takes_the_time_that_all_share_and_beyond_it_nothing_is_told(
    board, drawn, monkeypatch
):
    """Of three layers the third finds no time left; two alone would be told, and perhaps as what they are not."""
    register, calls = by_content.register, itertools.count(1)

    def slow(*given):
        next(calls)
        until = time.process_time() + 0.1
        while time.process_time() < until:
            pass
        return register(*given)

    monkeypatch.setattr(by_content, "register", slow)
    monkeypatch.setattr(time_allowed, "_SECONDS_A_BOARD", 0.15)
    found = board(*drawn)
    assert next(calls) <= 3
    assert kinds(found) == {}
    assert [n.said.values["count"] for n in found.notes if getattr(n.said, "key", "") == "lands.no time to tell"] == [3]
    assert found.lands is None
