"""Each list speaks for exactly the rows of the board that it is about, and says what its lines stand on.

Figures: boards and quantities are invented.
"""

import json
from collections import Counter
from functools import cache
from pathlib import Path

import pytest
from depth import sample_of
from hypothesis import given, strategies as st
from msgspec.structs import replace

from capcheck import check, read_board
from capcheck.lexicon import sentence
from capcheck.lists import handling_list, nozzle_list, order_list, pin_1_list, probing_list
from capcheck.lists.tables import terminals
from capcheck.model import Kind

FIXTURES = Path(__file__).parents[2] / "fixtures"
BOARDS = ("irrigation-controller", "flow-sensor", "light-strip")
LINE = FIXTURES / "lines" / "full.line.toml"


@cache
def board(name):
    return read_board(FIXTURES / name)


def counted(listed):
    return Counter(ref for row in listed.rows for ref in row.refs)


def fitted(read):
    return Counter(ref for ref, is_part in zip(read.placements.ref, read.placements.is_part, strict=True) if is_part)


def beside(read):
    """References that the BOM buys and no row of the placements has."""
    placed = set(read.placements.ref)
    return Counter(ref for line in read.bom or () if line.fitted for ref in line.refs if ref not in placed)


def parts_and_bodies(read):
    places = read.placements
    return [(places.ref[row], read.bodies[places.part_type[row]]) for row in places.is_part.nonzero()[0].tolist()]


def many(body):
    """Whether the form alone tells of more than two terminals."""
    return body.pins is None and (
        body.lead_style in terminals().many.forms or body.family_key in terminals().many.families
    )


@st.composite
def varied(draw):
    """A board of the shop of which other rows are fitted, and whose parts have other bodies."""
    read = board(draw(st.sampled_from(BOARDS)))
    size = len(read.placements)
    wanted = draw(st.lists(st.booleans(), min_size=size, max_size=size))
    places = read.placements
    flags = places.fitted.copy()
    flags[:] = wanted
    bodies = draw(st.permutations(read.bodies))
    return replace(read, placements=replace(places, fitted=flags), bodies=bodies)


@given(read=varied(), boards=st.integers(1, 10**6))
def test_every_fitted_part_stands_in_exactly_the_lists_that_it_should(read, boards):
    whole = fitted(read)
    ordered = order_list(read, boards)
    assert counted(ordered) == whole + beside(read)
    assert counted(handling_list(read)) == whole
    pins = pin_1_list(read)
    assert counted(pins) <= whole
    (total,) = pins.totals
    assert total.values["listed"] == sum(counted(pins).values())
    assert total.values["free"] + total.values["bare"] == sum(whole.values()) - total.values["listed"]
    assert total.values["fitted"] == sum(whole.values())
    real = [(r, b) for r, b in parts_and_bodies(read) if b.mounting != "none"]
    must = {r for r, b in real if b.polarised or (b.pins or 0) > 2}
    may = {r for r, b in parts_and_bodies(read) if b.polarised is False and (b.pins or 0) <= 2}
    assert must <= set(counted(pins))
    assert not {r for r in may if not many(dict(parts_and_bodies(read))[r])} & set(counted(pins))
    lands = probing_list(read)
    (probed,) = lands.totals
    assert probed.values["lands"] + probed.values["parts"] == len(lands.rows)
    assert probed.values["lands"] + probed.values["others"] == sum(read.placements.kind == Kind.MECHANICAL)
    assert sum(probed.values[side] for side in ("top", "bottom", "nowhere")) == len(lands.rows)
    for listed in (ordered, handling_list(read), pins, lands):
        assert all(len(row.cells) == len(listed.columns) and sentence(row.source) for row in listed.rows)
        assert all(map(sentence, (*listed.totals, *listed.notes)))


@pytest.mark.parametrize("name", BOARDS)
def test_the_nozzles_speak_for_every_fitted_part_once(name):
    report = check(FIXTURES / name, line=LINE)
    listed = nozzle_list(report)
    assert counted(listed) == fitted(report.board)
    total = listed.totals[0].values
    assert total["fitted"] == total["held"] + total["none"] + total["unknown"] + total["hand"] + total["bare"]
    assert total["fitted"] == sum(fitted(report.board).values())


@given(read=varied(), boards=st.integers(1, 10**5))
def test_what_is_ordered_is_what_is_needed_and_what_is_lost(read, boards):
    for row in order_list(read, boards).rows:
        _, _, each, needed, lost, to_order, _ = row.cells
        if needed == 0:  # copper, of which nothing is bought
            assert (lost, to_order) == (0, 0)
            assert all(dict(parts_and_bodies(read))[ref].mounting == "none" for ref in row.refs)
            continue
        assert needed == each * boards
        assert to_order is None if lost is None else to_order == needed + lost


WHICH = ("order", "nozzles", "pin-1", "handling", "test-points")


@pytest.mark.parametrize("which", WHICH)
@pytest.mark.parametrize("name", sample_of(BOARDS, 1))
def test_the_formats_tell_the_same_rows(which, name, run):
    line = ("--line", LINE) if which == "nozzles" else ()
    told = {}
    for form in ("text", "csv", "json"):
        code, told[form], _ = run("lists", which, FIXTURES / name, *line, "--no-config", "--format", form)
        assert code == 0
    data = json.loads(told["json"])
    head, *rows = told["csv"].splitlines()
    assert len(rows) == len(data["rows"])
    assert head.split(",")[-3:] == ["references", "from", "note"]
    assert told["csv"].count("not known") >= sum(value is None for row in data["rows"] for value in row.values())
    assert all(row["from"] for row in data["rows"])
    for said in data["totals"]:
        assert said["text"] in " ".join(told["text"].split())
    assert max(map(len, told["text"].splitlines())) <= 120


def test_what_is_for_the_order_alone_is_refused_elsewhere(run):
    code, _, err = run("lists", "handling", FIXTURES / BOARDS[0], "--boards", 10, "--no-config")
    assert code == 2
    assert "--boards" in err


def test_nozzles_without_a_line_are_asked_for_one(run):
    code, _, err = run("lists", "nozzles", FIXTURES / BOARDS[0], "--no-config")
    assert code == 2
    assert "--line" in err
