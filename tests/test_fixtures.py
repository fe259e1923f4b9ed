"""The invented scenario holds what the README, the examples and the end-to-end tests take from it.

Figures: invented, or the digits of the text; an inch is 25.4 mm by definition.
"""

from __future__ import annotations

import csv
from collections import Counter
from pathlib import Path

import pytest
from ezdxf.entities.lwpolyline import LWPolyline
from ezdxf.filemanagement import readfile
from msgspec.structs import replace

from capcheck.checking import check
from capcheck.engine.collect import load_rules
from capcheck.engine.examples import missing_kinds, run_examples, unnoticed_limits
from capcheck.facts import FACTS
from capcheck.machines.line import Line, read_line, read_machine
from capcheck.values.errors import InputError

FIXTURES = Path(__file__).parents[1] / "fixtures"
DEMO = FIXTURES / "irrigation-controller"
MACHINES = sorted((FIXTURES / "machines").glob("*.machine.toml"))
LINES = sorted((FIXTURES / "lines").glob("*.line.toml"))
INCH_MM = 25.4  # exact by definition since 1959


def rows(path: Path, delimiter: str = ",") -> list[dict[str, str]]:
    with path.open(encoding="utf-8-sig", newline="") as file:
        return list(csv.DictReader(file, delimiter=delimiter))


def parts(path: Path, ref: str, delimiter: str = ",") -> list[dict[str, str]]:
    """Return the rows that are neither fiducials, holes nor test points."""
    set_apart = {"FID", "H", "TP"}
    return [row for row in rows(path, delimiter) if row[ref].rstrip("0123456789") not in set_apart]


def line(name: str) -> Line:
    return read_line(FIXTURES / "lines" / f"{name}.line.toml")


def expanded(references: str) -> list[str]:
    refs = []
    for item in references.split(", "):
        first, _, last = item.partition("-")
        prefix = first.rstrip("0123456789")
        end = last or first
        refs += [f"{prefix}{n}" for n in range(int(first[len(prefix) :]), int(end[len(prefix) :]) + 1)]
    return refs


def test_there_are_five_machines_and_four_lines() -> None:
    assert (len(MACHINES), len(LINES)) == (5, 4)


@pytest.mark.parametrize("path", MACHINES, ids=lambda p: p.name)
def test_every_machine_states_its_board_its_feeders_and_its_heads(path: Path) -> None:
    machine = read_machine(path)
    assert machine.board.max_length is not None
    assert machine.slots is not None
    assert machine.feeders.slots_used is not None
    assert all(head.max_part_height is not None and head.accuracy is not None for head in machine.head)
    assert machine.rated_per_hour is not None


@pytest.mark.parametrize("path", LINES, ids=lambda p: p.name)
def test_every_line_fits_on_its_floor(path: Path) -> None:
    read = read_line(path)
    assert read.file is not None
    assert read.file.free_length is not None
    lengths = [m.floor_width for m in read.machines] + [s.length for s in read.file.station]
    assert sum(x for x in lengths if x is not None) <= read.file.free_length


def test_the_machines_differ_in_what_they_take() -> None:
    machines = {path.name.split(".")[0]: read_machine(path) for path in MACHINES}
    tallest = {name: max(h.max_part_height or 0 for h in m.head) for name, m in machines.items()}
    finest = {name: min(h.min_lead_pitch or 9 for h in m.head) for name, m in machines.items()}
    assert tallest["chip-placer"] < tallest["fine-pitch-placer"] < tallest["odd-form-placer"]
    assert finest["fine-pitch-placer"] < finest["all-round-placer"] == finest["chip-placer"]
    assert max(h.max_body_length or 0 for h in machines["odd-form-placer"].head) == 150
    rates = {name: m.rated_per_hour or 0 for name, m in machines.items()}
    assert max(rates, key=lambda name: rates[name]) == "chip-placer"
    assert min(rates, key=lambda name: rates[name]) == "odd-form-placer"


def test_one_machine_leaves_coplanarity_and_ball_diameter_unknown() -> None:
    unknown = [
        read_machine(path).name
        for path in MACHINES
        if any(h.coplanarity_check is None and h.min_ball_diameter is None for h in read_machine(path).head)
    ]
    assert unknown == ["All-round placer"]


def test_the_lines_differ_in_inspection() -> None:
    files = {name: line(name).file for name in ("mixed", "chip", "full")}
    stated = {name: file.inspection for name, file in files.items() if file is not None}
    assert stated == {"mixed": None, "chip": ("paste", "optical"), "full": ("paste", "optical", "X-ray")}


def test_the_demo_has_248_parts_on_two_sides() -> None:
    demo = parts(DEMO / "placements.csv", "Reference")
    assert Counter(row["Side"] for row in demo) == {"top": 201, "bottom": 47}


def test_the_demo_has_three_marks_on_top_and_two_below() -> None:
    marks = [r["Side"] for r in rows(DEMO / "placements.csv") if r["Reference"].startswith("FID")]
    assert Counter(marks) == {"top": 3, "bottom": 2}


# Names of the invented demo and how many bear them; no size is asked.
@pytest.mark.rows(
    ("footprint", "count"),
    [
        ("CAPC0402X22N", 10),
        ("CAPC0603X33N", 10),
        ("C0201", 2),
        ("QFP50P1600X1600X160-100N", 1),
        ("QFN50P700X700X90-49N", 1),
        ("BGA121C80P11X11_1000X1000X140", 1),
        ("SOT-23", 5),
        ("HDR 4X5.0 SMD", 1),
        ("CONN BTB 40 P0.35 SMD", 1),
    ],
)
def test_the_demo_carries_what_divides_the_lines(footprint: str, count: int) -> None:
    assert sum(row["Footprint"] == footprint for row in rows(DEMO / "placements.csv")) == count


def test_the_demo_differs_from_its_bill_of_materials_in_one_part_each_way() -> None:
    placed = {row["Reference"] for row in parts(DEMO / "placements.csv", "Reference")}
    bill = rows(DEMO / "bom.csv")
    listed = [ref for row in bill for ref in expanded(row["References"])]
    assert len(listed) == len(set(listed))
    assert placed - set(listed) == {"R120"}
    assert set(listed) - placed == {"C90"}
    assert all(int(row["Quantity"]) == len(expanded(row["References"])) for row in bill)


def test_seven_parts_of_the_demo_stay_empty() -> None:
    empty = [ref for r in rows(DEMO / "bom.csv") if r["Fitted"] == "no" for ref in expanded(r["References"])]
    assert len(empty) == 7


def test_nobody_gave_the_height_of_the_demo_s_power_inductor() -> None:
    (inductor,) = [row for row in rows(DEMO / "bom.csv") if row["Part number"] == "W-33010"]
    assert (inductor["References"], inductor["Height [mm]"]) == ("L3, L4", "")


def test_the_flow_sensor_has_39_parts_on_one_side_and_no_board_file() -> None:
    folder = FIXTURES / "flow-sensor"
    placed = parts(folder / "flow sensor placements.csv", "Reference", ";")
    assert Counter(row["Face"] for row in placed) == {"top": 39}
    assert all("," in row["Position X (mm)"] and "." not in row["Position X (mm)"] for row in placed)
    listed = [r for row in rows(folder / "flow sensor parts list.csv", ";") for r in row["Designators"].split()]
    assert sorted(listed) == sorted(row["Reference"] for row in placed)
    assert not (folder / "board.toml").exists()


def test_the_light_strip_is_drawn_in_inches_and_measures_600_by_20_mm() -> None:
    drawing = readfile(FIXTURES / "light-strip" / "outline.dxf")
    assert drawing.header["$INSUNITS"] == 1  # DXF reference: 1 is inches
    (contour,) = drawing.modelspace().query("LWPOLYLINE")
    assert isinstance(contour, LWPolyline)
    points = [(x * INCH_MM, y * INCH_MM) for x, y in contour.get_points("xy")]
    assert max(x for x, _ in points) == pytest.approx(600, abs=1e-3)
    assert max(y for _, y in points) == pytest.approx(20, abs=1e-3)
    assert len(parts(FIXTURES / "light-strip" / "placements.csv", "Ref")) == 64


def test_a_profile_with_wrong_keys_names_each_of_them() -> None:
    with pytest.raises(InputError) as error:
        read_machine(FIXTURES / "bad" / "wrong-key.machine.toml")
    columns = {problem.where.column for problem in error.value.problems}
    assert columns == {"board.max_lenght", "board.max_width", "board.max_thickness"}


def test_a_profile_that_is_not_toml_is_told_its_line() -> None:
    path = FIXTURES / "bad" / "syntax-error.machine.toml"
    with pytest.raises(InputError) as error:
        read_machine(path)
    (problem,) = error.value.problems
    assert problem.where.row is not None
    assert "460 mm" in path.read_text(encoding="utf-8").splitlines()[problem.where.row - 1]


def test_the_shop_s_rules_do_what_their_examples_say_and_each_limit_is_noticed() -> None:
    rules = load_rules([FIXTURES / "rules" / "shop.toml"], FACTS)
    assert len(rules) == 2
    assert [r for r in run_examples(rules, FACTS) if r.actual != r.expected] == []
    assert unnoticed_limits(rules, FACTS) == []
    assert [missing_kinds(rule) for rule in rules] == [[], []]


@pytest.mark.parametrize(
    ("file", "words"),
    [
        ("unknown-fact.toml", ("part.hieght", "part.height")),
        ("length-with-mass.toml", ("length", "mass")),
    ],
)
def test_a_faulty_rule_is_told_its_line_and_its_fault(file: str, words: tuple[str, ...]) -> None:
    path = FIXTURES / "bad" / file
    with pytest.raises(InputError) as error:
        load_rules([path], FACTS)
    (problem,) = error.value.problems
    assert problem.where.row is not None
    assert path.read_text(encoding="utf-8").splitlines()[problem.where.row - 1].startswith("require")
    assert all(word in problem.what for word in words)


def test_the_shop_s_parts_settle_what_the_demo_leaves_open() -> None:
    with_height = {row["part number"] for row in rows(FIXTURES / "packages" / "shop-parts.csv") if row["height [mm]"]}
    bought = {row["Part number"] for row in rows(DEMO / "bom.csv")}
    assert "W-33010" in with_height & bought


def test_the_demo_s_outline_draws_its_marks_with_their_diameter() -> None:
    drawing = readfile(DEMO / "outline.dxf")
    circles = {
        (round(c.dxf.center.x, 3), round(c.dxf.center.y, 3)): 2 * c.dxf.radius
        for c in drawing.modelspace().query('CIRCLE[layer=="FIDUCIALS"]')
    }
    marks = [r for r in rows(DEMO / "placements.csv") if r["Reference"].startswith("FID")]
    assert {(float(r["X [mm]"]), float(r["Y [mm]"])) for r in marks} == set(circles)
    assert set(circles.values()) == {1.0}


@pytest.mark.parametrize("chosen", ["with options", "without"])
def test_the_modular_line_builds_the_demo_with_its_options_and_the_shop_s_tables(chosen: str) -> None:
    found = line("modular")
    if chosen == "without":
        found = replace(found, machines=(read_machine(FIXTURES / "machines" / "modular-placer.machine.toml"),))
    report = check(DEMO, line=found, libraries=sorted((FIXTURES / "packages").glob("*.csv")))
    failing = {(f.rule, f.subject.ref) for f in report.findings if f.outcome == "fail"}
    # The fine camera alone resolves the leads of J11.
    assert failing == (set() if chosen == "with options" else {("lead-pitch", "J11")})
