"""The stencil as the layers of paste draw it: area ratios, lands without paste, paste where nothing is placed.

Figures: boards, places and lands are invented; other ratios follow by arithmetic from area over walls.
"""

import pytest

from capcheck.checking import check
from capcheck.facts import FACTS, Session
from capcheck.shop import Choice


@pytest.fixture
def shown(board, resistors, layer):
    """Return a session on twelve resistors whose paste has openings of a *size* in mm."""

    def look(size=(0.8, 0.9), thickness=None, *, bare=(), more=(), rows=""):
        own, mask = resistors
        paste = layer("Paste,Top")
        for number, line in enumerate(own.splitlines(), 1):
            x, y = map(float, line.split(",")[3:5])
            if number not in bare:
                paste.pair(x, y, size=size)
        for x, y, width, height in more:
            paste.land(x, y, width, height)
        return Session(FACTS, board(own + rows, mask, paste), None, None, thickness)

    return look


@pytest.mark.parametrize(
    ("size", "thickness", "ratio"),
    [
        ((0.30, 0.25), 0.10, 0.68),  # https://calculator.academy/stencil-area-ratio-calculator, worked example
        ((1.0, 0.5), 0.12, 1.39),  # https://pcbinsider.com/tools/solder-paste-calculator, worked example
        # A circle has a quarter of its diameter over the thickness, and a square of that side as much:
        # https://indium.com/blog/formula-for-area-ratio-of-elongated-d.php.
        ((0.28, None), 0.10, 0.70),
        ((0.28, 0.28), 0.10, 0.70),
    ],
)
def test_the_area_ratio_is_that_of_worked_examples(shown, size, thickness, ratio):
    told = shown(size, thickness).numbers("part.area_ratio")
    assert told.low.round(2).tolist() == told.high.round(2).tolist() == [ratio] * 12


def test_without_a_stated_stencil_a_usual_one_is_assumed_and_said(shown):
    session = shown((0.30, 0.25))
    thickness = session.numbers("board.stencil_thickness")
    assert thickness.interval(0).low < thickness.interval(0).high
    assert "assumed" in str(thickness.source(0))
    told = session.numbers("part.area_ratio")
    assert (told.low < 0.66).all()  # IPC-7525
    assert (told.high > 0.66).all()  # IPC-7525
    assert (
        str(shown((0.3, 0.25), 0.1).numbers("board.stencil_thickness").source(0)) == "configuration stencil_thickness"
    )


def test_the_shop_states_its_stencil_in_its_configuration(board, resistors, layer, tmp_path_factory):
    rows, mask = resistors
    paste = layer("Paste,Top")
    for line in rows.splitlines():
        x, y = map(float, line.split(",")[3:5])
        paste.pair(x, y, size=(0.30, 0.25))
    folder = board(rows, mask, paste, read=False)
    stated = tmp_path_factory.mktemp("shop") / "capcheck.toml"
    outcomes = {}
    for thickness in ("100 µm", "0.12 mm"):
        stated.write_text(f'stencil_thickness = "{thickness}"\n')
        report = check(folder, config=stated)
        told = [f for f in report.findings if f.rule == "stencil-area-ratio"]
        outcomes[thickness] = {(f.outcome, f.undecided) for f in told}
    assert outcomes == {"100 µm": set(), "0.12 mm": {("warn", False)}}


def test_paste_on_all_lands_leaves_none_bare(shown):
    session = shown()
    assert session.numbers("part.lands_without_paste").low.tolist() == [0] * 12
    assert session.numbers("part.paste_share").low.round(6).tolist() == [1] * 12


def test_lands_without_paste_are_counted(shown):
    told = shown(bare=(2,)).numbers("part.lands_without_paste")
    assert told.low.tolist() == [0, 2] + [0] * 10


def test_two_panes_of_paste_in_a_land_are_two_openings(shown, spots):
    x, y = spots[0]
    session = shown((0.3, 0.9), 0.1, more=[(x - 1.1, y, 0.2, 0.9)])
    assert session.numbers("part.area_ratio").low.round(3).tolist() == [round(0.18 / 2.2 / 0.1, 3)] + [1.125] * 11


def test_paste_far_from_all_parts_is_told(shown):
    session = shown(more=[(300, 300, 1, 1), (300, 302, 1, 1)])
    assert session.numbers("side.paste_alone").low.tolist()[0] == 2
    assert shown().numbers("side.paste_alone").low.tolist()[0] == 0


def test_a_listed_part_that_is_not_fitted_is_a_part_for_its_paste(shown):
    session = shown(more=[(300, 300, 1, 1)], rows="R99,DNP,RESC1608X50N,300.8,300,0,top\n")  # IPC-7351B
    assert session.numbers("side.paste_alone").low.tolist()[0] == 0


def test_openings_of_no_known_part_are_judged_by_side(shown):
    session = shown((0.8, 0.9), 0.1, more=[(40, 40, 0.2, 0.2)])
    assert session.numbers("side.area_ratio").low.round(3).tolist()[0] == 0.5
    assert session.texts("side.tightest_openings").value(0) == "40.00, 40.00 mm"


def test_without_a_layer_of_paste_nothing_is_said(board, resistors):
    session = Session(FACTS, board(*resistors), None)
    for name in ("part.area_ratio", "part.lands_without_paste", "part.paste_share", "side.paste_alone"):
        told = session.numbers(name)
        assert not (told.low == told.high).any()


def test_the_rules_tell_a_tight_opening_and_a_land_without_paste(board, resistors, layer):
    rows, mask = resistors
    paste = layer("Paste,Top")
    for number, line in enumerate(rows.splitlines(), 1):
        x, y = map(float, line.split(",")[3:5])
        if number > 1:
            paste.pair(x, y, size=(0.2, 0.2) if number == 2 else (0.8, 0.9))
    folder = board(rows, mask, paste, read=False)
    report = check(folder, choice=Choice(select=("stencil",)))
    assert {(f.rule, f.subject.ref, f.undecided) for f in report.findings} == {
        ("stencil-area-ratio", "R2", False),
        ("lands-have-paste", "R1", False),
    }


def test_vias_in_pasted_lands_are_a_note(board, resistors, spots):
    rows, mask = resistors
    x, y = spots[0]
    drills = f"M48\n; #@! TF.FileFunction,Plated,1,2,PTH\nMETRIC\nT1C0.300\n%\nT1\nX{x - 0.8:.3f}Y{y:.3f}\nM30\n"
    found = board(rows, mask, holes__drl=drills)
    told = [note.said for note in found.notes if getattr(note.said, "key", "") == "lands.vias in lands"]
    assert [said.values["refs"] for said in told] == [["R1"]]


@pytest.mark.parametrize("wrong", [("X46Y46", "X45Y45"), ("MOMM", "MOIN"), ("Paste,Top", "Paste,Top")])
def test_paste_that_lies_beside_the_mask_says_of_no_land_that_it_has_none(board, resistors, layer, spots, wrong):
    rows, mask = resistors
    paste = layer("Paste,Top")
    for x, y in spots:
        paste.pair(x, y)
    found = board(rows, mask, paste__gbr=paste.write().replace(*wrong))
    told = [
        note.said.values["side"] for note in found.notes if getattr(note.said, "key", "") == "lands.beside the mask"
    ]
    is_right = wrong[0] == wrong[1]
    assert told == [] if is_right else ["top"]
    assert {own.has_paste for own in found.lands.of.values()} == ({True} if is_right else {None})
