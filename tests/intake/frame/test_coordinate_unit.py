"""The unit that no file states is inferred from what boards look like, with the second-best reading.

Figures: invented, or the digits of the text; an inch is 25.4 mm by definition.
"""

import random

import pytest
from depth import sample_size
from hypothesis import given, settings, strategies as st

from capcheck.intake.read import read_package
from capcheck.lexicon import sentence

PER_MM = {"mm": 1.0, "mil": 1 / 0.0254, "inch": 1 / 25.4}
"""Units per mm; 1 inch is 25.4 mm exactly (international inch, 1959)."""
DIGITS = {"mm": 3, "mil": 1, "inch": 4}


def board(width, height, count, seed):
    """Return invented part centres in mm, on a loose grid, as parts on boards keep their distance."""
    rng = random.Random(seed)  # noqa: S311
    step = max(1.2, (width * height / count) ** 0.5)
    places = [
        ((i + 0.5 + rng.uniform(-0.2, 0.2)) * step, (j + 0.5 + rng.uniform(-0.2, 0.2)) * step)
        for i in range(int(width / step))
        for j in range(int(height / step))
    ]
    return places[:count]


def write(path, places, unit, header="Ref,X,Y,Rotation,Side"):
    rows = [
        f"R{n},{x * PER_MM[unit]:.{DIGITS[unit]}f},{y * PER_MM[unit]:.{DIGITS[unit]}f},0,top"
        for n, (x, y) in enumerate(places, 1)
    ]
    path.write_text("\n".join([header, *rows]) + "\n", encoding="utf-8")
    return path


@settings(max_examples=sample_size(25))
@given(st.sampled_from(["mm", "mil", "inch"]), st.floats(35, 200), st.floats(25, 160), st.integers(40, 300))
def test_usual_boards_are_read_in_their_unit_or_the_question_is_open(tmp_path_factory, unit, width, height, count):
    path = write(tmp_path_factory.mktemp("board") / "p.csv", board(width, height, count, count), unit)
    package = read_package(None, placements=[path])
    (decision,) = [d for d in package.decisions if d.topic == "unit"]
    assert sentence(decision.choice) == unit or decision.open
    assert sentence(decision.runner_up)
    assert decision.settle == f'units = "{sentence(decision.choice)}"'


@pytest.mark.parametrize("unit", ["mm", "mil"])
def test_mm_and_mil_are_settled_on_a_board_of_ordinary_size(tmp_path, unit):
    package = read_package(None, placements=[write(tmp_path / "p.csv", board(80, 60, 120, 1), unit)])
    (decision,) = [d for d in package.decisions if d.topic == "unit"]
    assert (sentence(decision.choice), decision.open) == (unit, False)
    assert package.unit_settled


def test_a_board_of_keys_19_mm_apart_is_not_taken_for_mil(tmp_path):
    # 19.05 mm is the usual pitch of keys: common practice, no source.
    places = [(19.05 * i, 19.05 * j) for i in range(12) for j in range(4)]
    package = read_package(None, placements=[write(tmp_path / "p.csv", places, "mm")])
    assert [sentence(d.choice) for d in package.decisions if d.topic == "unit"] == ["mm"]


def test_two_parts_decide_nothing(tmp_path):
    package = read_package(None, placements=[write(tmp_path / "p.csv", [(1, 1)], "mm")])
    (decision,) = [d for d in package.decisions if d.topic == "unit"]
    assert decision.open
    assert not package.unit_settled


@pytest.mark.parametrize(
    ("rows", "said"),
    [
        (["R1,2,3,0,top"], "one part tells nothing"),
        (["R1,2,3,0,top", "R2,2,3,0,top"], "parts in one place tell nothing"),
        (["R1,2,3,0,top", "R2,7,3,0,bottom"], "no two parts are neighbours and the parts span 5 mm"),
    ],
)
def test_what_few_parts_do_not_tell_is_said_in_words(tmp_path, rows, said):
    (tmp_path / "p.csv").write_text("\n".join(["Ref,X,Y,Rotation,Side", *rows]) + "\n")
    package = read_package(None, placements=[tmp_path / "p.csv"])
    (decision,) = [d for d in package.decisions if d.topic == "unit"]
    assert decision.open
    assert said in sentence(decision.evidence)
    assert "nan" not in sentence(decision.evidence) + sentence(decision.runner_up)
    assert sentence(decision.choice) == "mm"
    assert sentence(decision.runner_up) in {"mil", "inch"}


def test_two_files_may_differ_in_their_unit(tmp_path):
    top = write(tmp_path / "top.csv", board(80, 60, 120, 1), "mm")
    other = [(x, y) for x, y in board(80, 60, 100, 2)]
    bottom = write(tmp_path / "bottom.csv", other, "mil", "Part,Middle X,Middle Y,Angle,Face")
    bottom.write_text(bottom.read_text().replace("\nR", "\nC").replace(",top", ",bottom"))
    package = read_package(None, placements=[top, bottom])
    assert sorted(sentence(d.choice) for d in package.decisions if d.topic == "unit") == ["mil", "mm"]
    assert package.placements.x_mm.max() < 85


def test_board_toml_ends_the_question(tmp_path):
    write(tmp_path / "p.csv", board(80, 60, 120, 1), "mm")
    (tmp_path / "board.toml").write_text('placements = "p.csv"\nunits = "mil"\n')
    package = read_package(tmp_path)
    assert "unit" not in {d.topic for d in package.decisions}
    assert package.placements.x_mm.max() < 3


@pytest.fixture
def unitless(tmp_path):
    """Return a function that reads a board of 30 × 22 mm whose files, in cm, state no unit."""
    import ezdxf

    def read(toml=""):
        places = [(x / 10, y / 10) for x, y in board(30, 22, 40, 1)]
        write(tmp_path / "p.csv", places, "mm")
        drawing = ezdxf.new(units=0)
        drawing.modelspace().add_lwpolyline([(0, 0), (3.0, 0), (3.0, 2.2), (0, 2.2)], close=True)
        drawing.saveas(tmp_path / "o.dxf")
        (tmp_path / "board.toml").write_text(toml)
        return read_package(tmp_path)

    return read


def test_an_outline_whose_own_unit_is_a_guess_settles_no_unit(unitless):
    """3 × 2.2 may be inch or cm: parts that fill the outline fill it in either."""
    package = unitless()
    found = {d.topic: d for d in package.decisions}
    assert found["outline unit"].open
    assert found["unit"].open
    assert "whose own unit is not certain" in sentence(found["unit"].evidence)
    assert not package.unit_settled


def test_a_stated_outline_unit_settles_it_again(unitless):
    package = unitless('outline = { file = "o.dxf", unit = "cm" }\nplacements = "p.csv"\n')
    assert [(sentence(d.choice), d.open) for d in package.decisions if d.topic == "unit"] == [("cm", False)]


def test_placements_that_are_plain_by_themselves_need_no_outline(tmp_path):
    """A drawing whose header says metre, at 144 × 107, leaves its own unit open."""
    import ezdxf

    write(tmp_path / "p.csv", board(140, 100, 150, 1), "mm")
    drawing = ezdxf.new(units=6)
    drawing.modelspace().add_lwpolyline([(0, 0), (144, 0), (144, 107), (0, 107)], close=True)
    drawing.saveas(tmp_path / "o.dxf")
    package = read_package(tmp_path)
    found = {d.topic: d.open for d in package.decisions}
    assert found["outline unit"]
    assert not found["unit"]
