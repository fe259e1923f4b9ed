"""A whole specification sheet as a profile: each statement passes what it just allows and stops what is just past it.

Beside these: what heads put through holes, room above the board and tooling pins have sheets of their own in
test_heads_that_insert.py, tests/facts/test_second_side.py and tests/lands/test_tooling_holes.py.

Figures: invented in round numbers.
"""

import pytest

from capcheck.checking import check
from capcheck.checking.answer import Choice

SHEET = """\
name = "Placer"
floor_width = "2 m"
floor_depth = "2 m"
rated = "10000 1/hour"
[board]
min_length = "60 mm"
max_length = "500 mm"
buffered_length = "250 mm"
one_stop_length = "400 mm"
min_width = "50 mm"
max_width = "400 mm"
min_thickness = "0.4 mm"
max_thickness = "4 mm"
max_mass = "3 kg"
lanes = 2
max_dual_lane_width = "240 mm"
edge_clearance_top = "3 mm"
edge_clearance_bottom = "5 mm"
underside_clearance = "10 mm"
top_clearance = "8 mm"
max_warp = "1 mm"
tooling_pins = 2
[fiducials]
kinds = ["circle", "cross"]
min_diameter = "0.5 mm"
max_diameter = "3 mm"
search_window = "4 mm"
[feeders]
slots_used = { "8 mm" = 1, "24 mm" = 2, "44 mm" = 3, "56 mm" = 4 }
stick_slots = 4
bowl_slots = 10
[timing]
uptime = 0.9
[[head]]
name = "head"
nozzles = 4
smallest_chip = "0603M"
max_body_length = "45 mm"
max_body_width = "30 mm"
min_part_height = "0.2 mm"
max_part_height = "15 mm"
max_part_mass = "30 g"
max_lead_length = "4 mm"
min_force = "2 N"
max_force = "20 N"
max_pins = 400
min_lead_pitch = "0.4 mm"
recognises_balls = true
min_ball_pitch = "0.5 mm"
min_ball_diameter = "0.3 mm"
coplanarity_check = false
accuracy = "0.06 mm"
accuracy_sigma = 3
rotation_accuracy = "0.1 degree"
supplies = ["tape", "tray", "bowl"]
nozzle = [
  { name = "tiny", max_side = "3 mm", pick_length = "0.3 mm" },
  { name = "large", min_side = "1.5 mm", max_side = "45 mm" },
  { name = "own", takes = ["XQ99NZ-*"] },
]
range = [
  { up_to = "12 mm", max_part_height = "6.5 mm" },
  { up_to = "33 mm" },
  { min_lead_pitch = "0.8 mm", recognises_balls = false },
]
[[option]]
name = "fine camera"
min_lead_pitch = "0.3 mm"
[[bank]]
name = "front"
slots = 30
max_tape_width = "44 mm"
max_pocket_depth = "12 mm"
max_reel = "330 mm"
tray_places = 3
tray_covers = [21, 30]
[sheet]
"air supply" = "0.5 MPa"
"""

UNITS = dict.fromkeys(("mounting", "supply", "pins", "lead style", "nozzle"), "") | {
    "mass": "g",
    "force needed": "N",
    "force allowed": "N",
}
"""Of the columns that hold no length."""
PACKED = {"mounting": "surface", "supply": "tape", "pocket depth": 3, "reel": 180, "height": 2}
PART = PACKED | {"length": 9, "width": 9, "tape width": 24, "pins": 8, "pitch": 1.27, "lead style": "gull wing"}
CHIP = PACKED | {"length": 1.6, "width": 0.8, "height": 0.5, "tape width": 8, "pins": 2, "lead style": "chip"}
FLAT = PART | {"lead style": "no lead"}
BALLS = PART | {"lead style": "ball grid", "pitch": 0.8, "ball diameter": 0.5, "pins": 64}

PARTS = [
    # What the part is, the column, its value within the statement and past it, and the rule that stops the latter.
    (CHIP, "length, width", (0.6, 0.3), (0.4, 0.2), "smallest-chip"),
    (PART, "length", 45, 45.1, "largest-body"),
    (PART | {"length": 40}, "width", 30, 30.1, "largest-body"),
    (PART | {"length": 20, "supply": "tray"}, "height", 15, 15.1, "part-height"),
    (PART, "height", 0.2, 0.19, "part-thickness"),
    (PART, "height", 6.5, 6.6, "part-height-at-size"),
    (PART | {"height": 6.6}, "length", 12.1, 12, "part-height-at-size"),
    (PART, "mass", 30, 30.1, "part-mass"),
    (PART, "lead length", 4, 4.1, "lead-length"),
    (PART, "force needed", 20, 20.1, "force-needed"),
    (PART, "force allowed", 2, 1.9, "force-allowed"),
    (BALLS | {"length": 30, "width": 30}, "pins", 400, 401, "lead-count"),
    (FLAT, "pitch", 0.4, 0.39, "lead-pitch"),
    (FLAT | {"length": 34}, "pitch", 0.8, 0.79, "lead-pitch-at-size"),
    (PART, "pitch", 0.65, 0.5, "coplanarity-check"),
    (BALLS, "pitch", 0.5, 0.49, "ball-pitch"),
    (BALLS, "ball diameter", 0.3, 0.29, "ball-diameter"),
    (BALLS, "length", 33, 33.1, "balls-at-size"),
    # 0.3 × 0.5 ≥ 3 × 1.33 × 0.02 mm = 0.08 mm, 0.15 × 0.5 = 0.075 mm; worked by hand.
    (CHIP, "width", 0.3, 0.15, "accuracy-chip"),
    (PART, "supply", "bowl", "stick", "supply-form"),
    (PART, "tape width", 24, 32, "tape-feeder"),
    (PART, "tape width", 44, 56, "feeder-bank"),
    (PART, "pocket depth", 12, 12.1, "feeder-bank"),
    (PART, "reel", 330, 331, "feeder-bank"),
    (CHIP, "width", 0.3, 0.29, "nozzle-for-size"),
    (PART, "width", 1.5, 1.4, "nozzle-for-size"),
    (PART, "nozzle", "large", "huge", "nozzle-named"),
]


def library(parts):
    columns = sorted({name for part in parts for name in part})
    lines = [",".join(["part number", *(f"{name} [{UNITS.get(name, 'mm')}]".removesuffix(" []") for name in columns)])]
    for number, part in enumerate(parts, 1):
        lines.append(",".join([f"XQ99{number:02}-9", *(str(part.get(name, "")) for name in columns)]))
    return "\n".join(lines) + "\n"


def changed(part, column, value):
    names = column.split(", ")
    return part | dict(zip(names, value if isinstance(value, tuple) else (value,), strict=True))


@pytest.mark.parametrize("past", [False, True], ids=["within", "past"])
def test_each_statement_about_parts(make_board, make_line, tmp_path, past):
    parts = [changed(part, column, other if past else own) for part, column, own, other, _ in PARTS]
    table = tmp_path / "parts.csv"
    table.write_text(library(parts))
    rows = [f"U{k},{20 + 50 * (k % 6)},{20 + 40 * (k // 6)},0,top,,OWN LAND" for k in range(1, len(parts) + 1)]
    bom = ["Ref,Part number", *(f"U{k},XQ99{k:02}-9" for k in range(1, len(parts) + 1))]
    rules = sorted({rule for *_, rule in PARTS})
    report = check(
        make_board(rows, bom=bom, toml="product_class = 2\n"),
        line=make_line(SHEET),
        libraries=[table],
        choice=Choice(select=rules),
    )
    found = {(f.subject.ref, f.rule) for f in report.findings}
    wanted = {(f"U{k}", rule) for k, (*_, rule) in enumerate(PARTS, 1)}
    if past:
        assert wanted - found == set()
    else:
        assert found == set()


SIZES = {"length": "200 mm", "width": "150 mm", "thickness": "1.6 mm", "mass": "200 g"}
MARKS = {"diameter": "1 mm", "shape": "circle", "x": "180 mm"}

BOARDS = [
    # What the board states, its value within the statement and past it, and the rule that says so.
    ("length", "60 mm", "59.9 mm", "board-length"),
    ("length", "500 mm", "500.1 mm", "board-length"),
    ("length", "250 mm", "250.1 mm", "board-buffered"),
    ("length", "400 mm", "400.1 mm", "board-one-stop"),
    ("width", "50 mm", "49.9 mm", "board-width"),
    ("width", "400 mm", "400.1 mm", "board-width"),
    ("width", "240 mm", "240.1 mm", "board-both-lanes"),
    ("thickness", "0.4 mm", "0.39 mm", "board-thickness"),
    ("thickness", "4 mm", "4.1 mm", "board-thickness"),
    ("mass", "3 kg", "3.1 kg", "board-mass"),
    # 0.5 % of the width: 200 mm × 0.5 % = 1 mm.
    ("width", "200 mm", "201 mm", "board-bow-stated"),
    ("diameter", "0.5 mm", "0.4 mm", "fiducial-diameter"),
    ("diameter", "3 mm", "3.1 mm", "fiducial-diameter"),
    ("shape", "cross", "diamond", "fiducial-kind"),
    # Turned by half a turn, marks at 20 and 180 mm of 200 mm change places; at 184.1 mm they miss by 4.1 mm.
    ("x", "184.1 mm", "183.9 mm", "fiducial-half-turn"),
    ("top part at y", 7.6, 7.4, "edge-clearance"),
    ("bottom part at y", 9.6, 9.4, "edge-clearance"),
    ("bottom part's height", 10, 10.1, "underside-clearance"),
    ("chips", 26, 27, "bank-slots"),
    ("bowls", 2, 3, "bank-slots"),
    ("trays", 3, 4, "bank-trays"),
    ("floor", "2 m", "1.9 m", "line-length"),
    ("area", "4 m**2", "3.9 m**2", "line-area"),
    ("mounting", "surface", "through hole", "hand-placement"),
]


def outline(length, width):
    corners = [(0, 0), (length, 0), (length, width), (0, width), (0, 0)]
    drawn = "".join(f"X{x * 1e6:.0f}Y{y * 1e6:.0f}D0{1 if k else 2}*\n" for k, (x, y) in enumerate(corners))
    return "%FSLAX46Y46*%\n%MOMM*%\n%TF.FileFunction,Profile,NP*%\n%ADD10C,0.1*%\nD10*\n" + drawn + "M02*\n"


def board_of(changed, make_board, tmp_path, make_line):
    """Return a board that states one thing otherwise, the line and the table of its parts."""
    size = SIZES | {name: value for name, value in changed.items() if name in SIZES}
    marks = MARKS | {name: value for name, value in changed.items() if name in MARKS}
    toml = "".join(f'{name} = "{value}"\n' for name, value in size.items() if name in {"thickness", "mass"})
    toml += 'travel = "along x"\nbottom_view = "through the board"\nbow_percent = 0.5\n'
    toml += 'origin = { x = "0 mm", y = "0 mm" }\n'
    for x, y in ((marks["x"], "120 mm"), ("20 mm", "30 mm")):
        toml += f'[[fiducials]]\nx = "{x}"\ny = "{y}"\nside = "top"\nkind = "board"\n'
        toml += f'diameter = "{marks["diameter"]}"\nshape = "{marks["shape"]}"\n'
    below = PART | {"height": changed.get("bottom part's height", 2)}
    # What the top carries is taller, so that the bottom is soldered first.
    parts = [PART | {"height": 12, "mounting": changed.get("mounting", "surface")}, below]
    parts += [CHIP] * changed.get("chips", 2)
    parts += [PART | {"supply": "bowl"}] * changed.get("bowls", 0) + [PART | {"supply": "tray"}] * changed.get(
        "trays", 0
    )
    places = [(30, changed.get("top part at y", 30), "top"), (60, changed.get("bottom part at y", 30), "bottom")]
    places += [(20 + 12 * (k % 10), 50 + 12 * (k // 10), "top") for k in range(len(parts) - 2)]
    rows = [f"U{k},{x},{y},0,{side},,OWN LAND" for k, (x, y, side) in enumerate(places, 1)]
    bom = ["Ref,Part number", *(f"U{k},XQ99{k:02}-9" for k in range(1, len(parts) + 1))]
    table = tmp_path / "parts.csv"
    table.write_text(library(parts))
    folder = make_board(rows, bom=bom, toml=f'outline = "edge.gbr"\n{toml}')
    length, width = (float(size[name].removesuffix(" mm")) for name in ("length", "width"))
    (folder / "edge.gbr").write_text(outline(length, width))
    floor = "".join(f'free_{k} = "{changed[n]}"\n' for n, k in (("floor", "length"), ("area", "area")) if n in changed)
    return folder, make_line(SHEET, extra=f"hand_placement = false\n{floor}"), table


@pytest.mark.rows(("what", "own", "other", "rule"), BOARDS)
def test_each_statement_about_boards(make_board, make_line, tmp_path, what, own, other, rule):
    told = []
    for value in (own, other):
        folder, line, table = board_of({what: value}, make_board, tmp_path, make_line)
        report = check(folder, line=line, libraries=[table], choice=Choice(select=[rule, "supply-form"]))
        told.append([f.rule for f in report.findings if f.rule == rule])
    assert told[0] == []
    assert set(told[1]) == {rule}


@pytest.mark.parametrize(("pitch", "rules"), [(0.3, set()), (0.29, {"lead-pitch"})])
def test_the_statement_of_an_option(make_board, make_line, tmp_path, pitch, rules):
    table = tmp_path / "parts.csv"
    table.write_text(library([FLAT | {"pitch": pitch}]))
    folder = make_board(["U1,30,30,0,top,,OWN LAND"], bom=["Ref,Part number", "U1,XQ9901-9"])
    line = make_line(SHEET, extra='options = { "Placer" = ["fine camera"] }\n')
    report = check(folder, line=line, libraries=[table], choice=Choice(select=["lead-pitch", "lead-pitch-at-size"]))
    assert {f.rule for f in report.findings} == rules
