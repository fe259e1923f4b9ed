"""Gaps between bodies, from files to findings: each limit on it and one step past it.

Figures: boards, parts and machines are invented, places worked by hand; limits have their basis in
rules/spacing.toml.
"""

import pytest

from capcheck.facts.pair import kind_of
from capcheck.model import Body, Family, Measure
from capcheck.report.first_screen import first_screen
from capcheck.report.picture import report_svg
from capcheck.shop.settings import rules_that_ship
from capcheck.values.interval import Interval


def row(ref, x, y=30.0, side="top", footprint="s"):
    return f"{ref},{x},{y},0,{side},v,{footprint}"


@pytest.mark.parametrize(("x", "outcomes"), [(54.95, set()), (54.94, {("U1 and U2", "fail")})])
def test_bodies_overlap_from_the_rounding_of_their_places_on(answer, x, outcomes):
    assert answer([row("U1", 50), row("U2", x)], "bodies-apart").outcomes == outcomes


def test_bodies_on_different_sides_do_not_meet(answer):
    assert answer([row("U1", 50), row("U2", 50, side="bottom")], "bodies-apart").outcomes == set()


def test_a_body_of_unknown_size_is_not_said_to_overlap(answer):
    found = answer([row("U1", 50), row("U2", 51, footprint="mystery")], "bodies-apart", sizes={"U2": None})
    assert found.outcomes == {("U2", "undecided")}  # the rule was asked for by name, and cannot speak of this part


@pytest.mark.parametrize(("x", "outcomes"), [(55.25, set()), (55.24, {("U1 and U2", "warn")})])
def test_bodies_of_any_kind_keep_their_gap(answer, x, outcomes):
    assert answer([row("U1", 50), row("U2", x)], "gap").outcomes == outcomes


def test_a_gap_wider_than_the_usual_search_finds_its_pairs(answer):
    """A shop that asks for 5 mm must hear of two bodies 4.9 mm apart."""
    rows = [row("U1", 50), row("U2", 59.9)]
    assert answer(rows, "gap").outcomes == set()
    assert answer(rows, "gap", limits={"gap": {"others": "5 mm"}}).outcomes == {("U1 and U2", "warn")}


@pytest.mark.parametrize(
    ("height", "x", "outcomes"), [(4.1, 54.0, set()), (4.1, 53.99, {("U1 and U2", "warn")}), (4.0, 53.99, set())]
)
def test_a_nozzle_passes_beside_a_neighbour_that_stands_higher_than_its_reach(answer, height, x, outcomes):
    """Half of what a nozzle of 1 mm overhangs a body of 0.5 mm and 0.13 mm are 0.38 mm: the worked example.

    The lower body ends at 50.25 mm and the taller begins 3.37 mm before its centre; the reach is 3 mm above 1 mm.
    """
    sizes = {"U1": (0.5, 0.5, 1), "U2": (6.74, 6.74, height)}
    assert answer([row("U1", 50), row("U2", x)], "nozzle-beside-tall", sizes=sizes).outcomes == outcomes


@pytest.mark.parametrize(("x", "outcomes"), [(55.14, set()), (55.12, {("U1 and U2", "warn")})])
def test_a_body_wider_than_the_nozzle_needs_room_for_the_errors_only(answer, x, outcomes):
    sizes = {"U2": (5, 5, 4.1)}
    assert answer([row("U1", 50), row("U2", x)], "nozzle-beside-tall", sizes=sizes).outcomes == outcomes


GRID = {"U1": (17, 17, 2)}


# Invented body, 17 x 17 x 2 mm.
@pytest.mark.parametrize(("x", "outcomes"), [(62.27, set()), (62.26, {("U1", "warn")})])
def test_a_ring_around_a_ball_grid_is_free(answer, x, outcomes):
    """8.5 + 2.5 mm of bodies and 1.27 mm of ring."""
    rows = [row("U1", 50, footprint="BGA256"), row("U2", x)]
    assert answer(rows, "ball-grid-ring", sizes=GRID).outcomes == outcomes


# Invented body, 17 x 17 x 2 mm.
def test_a_body_on_top_of_a_ball_grid_leaves_no_ring_and_no_negative_one(answer):
    found = answer([row("U1", 50, footprint="BGA256"), row("U2", 55)], "ball-grid-ring", sizes=GRID)
    assert found.messages[0].startswith("0 mm to the nearest body")


# Invented body, 17 x 17 x 2 mm.
@pytest.mark.parametrize(("x", "outcomes"), [(67, set()), (66.9, {("U1", "warn"), ("U2", "warn")})])
def test_ball_grids_opposite_each_other_are_named(answer, x, outcomes):
    rows = [row("U1", 50, footprint="BGA256"), row("U2", x, side="bottom", footprint="BGA256")]
    found = answer(rows, "ball-grid-opposite", sizes={"U1": (17, 17, 2), "U2": (17, 17, 2)}, box=(120, 60))
    assert found.outcomes == outcomes


def test_pairs_that_hang_on_how_their_bodies_lie_are_named_in_one_warning(answer):
    """Bodies of 6 × 2 mm, 3 mm apart: clear side by side, one on top of the other end to end."""
    sizes = {"U1": (6, 2, 1), "U2": (6, 2, 1)}
    found = answer([row("U1", 50), row("U2", 53)], "bodies-apart", "bodies-apart-decided", sizes=sizes)
    assert found.outcomes == {("board", "warn")}
    assert "1 (U1 and U2)" in found.messages[0]


def test_a_pair_that_hangs_on_the_tolerance_of_its_sizes_names_its_packages(answer):
    """Chips 0.8 mm wide at a pitch of 0.8 mm: how they lie is plain, but not whether they touch."""
    rows = [row(f"U{n}", 20 + 0.8 * n, footprint="C1608M") for n in range(5)]
    rows.append(row("U9", 60))
    chips = [f"U{n}" for n in range(5)]
    found = answer(rows, "bodies-apart-decided", sizes=dict.fromkeys(chips), listed=chips)
    assert [d for d in found.report.board.decisions if d.topic == "orientation along y"]
    assert "most are of C1608M; as the bodies are taken to lie" in found.messages[0]
    assert found.messages[0].endswith(", unknown sizes at their least, 4 of them")


CLOSE = [f"U{n},{20 + 1.4 * n},30,0,top,v,C1608M" for n in range(4)]
"""Chips 1.6 mm long, 1.4 mm apart: along x they overlap at nominal size; chips of 1.4 mm would just fit."""


def test_what_nominal_sizes_rule_out_lessens_the_count_and_proves_nothing(answer):
    rows = [*CLOSE, row("U9", 60)]
    found = answer(rows, "bodies-apart-decided", "gap", sizes=dict.fromkeys(f"U{n}" for n in range(4)))
    session = found.report.session
    assert session.numbers("board.open_gaps").high[0] == 3
    assert session.numbers("board.open_gaps_left").high[0] == 0
    assert found.outcomes == {("board", "warn")}  # without a proof the rule does not pass
    assert "as the bodies are taken to lie, unknown sizes at their least, 0 of them" in found.messages[0]
    gaps = session.numbers("pair.gap")
    assert (gaps.low.min(), gaps.high[gaps.low < 0].min()) == (-0.45, 0.7)  # as wide as without what is taken


def test_what_remains_of_pairs_that_may_touch_is_said_once_as_a_number(answer):
    rows = [*CLOSE, row("U9", 60)]
    report = answer(rows, "bodies-apart-decided", sizes=dict.fromkeys(f"U{n}" for n in range(4))).report
    said = "No pair of bodies touches as they are taken to lie, unknown sizes at their least"
    assert report_svg(report).count(f"{said}; 3 are not proved apart") == 1
    assert not any("not proved apart" in text for text in first_screen(report).further)
    one = answer([row("U1", 50), row("U2", 53)], "bodies-apart-decided", sizes={"U1": (6, 2, 1), "U2": (6, 2, 1)})
    assert "1 pair of bodies may touch, as far as sizes and 0° are known" in first_screen(one.report).further
    apart = answer([row("U1", 50), row("U2", 90)], "bodies-apart-decided")
    assert not any("may touch" in text for text in first_screen(apart.report).further)


def test_a_pair_that_hangs_on_a_place_off_the_middle_names_the_body_that_has_it(answer):
    """The place of a connector may be that of its contacts: how the chip beside it lies matters less."""
    rows = [row("J1", 50, footprint="HDR-1x6-2.54"), row("U1", 58, footprint="C1608M")]
    found = answer([*rows, row("U9", 90)], "bodies-apart-decided", sizes={"J1": None, "U1": None})
    body = found.report.board.bodies[int(found.report.board.placements.part_type[0])]
    assert not body.centred
    assert "most are of HDR-1x6-2.54;" in found.messages[0]


def exactly(value):
    return Measure(Interval.exactly(value))


@pytest.mark.rows(
    ("body", "kind"),
    [
        (Body(lead_style="chip", nominal_length=exactly(2.0), nominal_width=exactly(1.25)), "chip"),
        (Body(lead_style="chip", nominal_length=exactly(3.2), nominal_width=exactly(1.6)), "large chip"),
        (Body(lead_style="melf", length=exactly(2.2), width=exactly(1.1)), "chip"),
        (Body(lead_style="gull wing", pins=6), "transistor"),
        (Body(lead_style="gull wing", pins=8), "small outline"),
        (Body(lead_style="flat lead", pins=3), "transistor"),
        (Body(lead_style="gull wing", pins=64, family_key=Family.QFP), "quad flat"),
        (Body(lead_style="ball grid"), "ball grid"),
        (Body(lead_style="no lead"), "no lead"),
        (Body(), "other"),
    ],
)
def test_gaps_are_chosen_by_the_kind_of_package(body, kind):
    assert kind_of(body) == kind


def test_each_part_of_a_crowd_has_its_finding(answer):
    """Pair by pair a thousand parts at one point are half a million findings, in 17 s and 850 MB."""
    found = answer([row(f"U{n}", 50) for n in range(1, 301)], "bodies-apart").outcomes
    assert len(found) == 300
    assert {name.split(" ")[0] for name, _ in found} == {f"U{n}" for n in range(1, 301)}
    assert {outcome for _, outcome in found} == {"fail"}


def test_no_rule_asks_for_the_count_that_proves_nothing():
    assert "board.open_gaps_left" not in {name for rule in rules_that_ship() for name in rule.facts}
