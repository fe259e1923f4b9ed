"""Boards written as files and checked with a few rules: what a customer sends, to what the report says.

Figures: boards, parts and machines are invented; limits are those of rules/*.toml, each with its basis.
"""

from types import SimpleNamespace

import pytest

MACHINE = """\
name = "M"
[board]
min_length = "50 mm"
max_length = "500 mm"
min_width = "50 mm"
max_width = "400 mm"
min_thickness = "0.4 mm"
max_thickness = "4 mm"
max_mass = "3 kg"
lanes = 2
max_dual_lane_width = "250 mm"
edge_clearance_top = "3 mm"
edge_clearance_bottom = "4 mm"
underside_clearance = "10 mm"
top_clearance = "8 mm"
max_warp = "1 mm"
[fiducials]
kinds = ["circle", "cross"]
min_diameter = "0.8 mm"
max_diameter = "3 mm"
search_window = "4 mm"
[[head]]
name = "h"
max_part_height = "20 mm"
"""


@pytest.fixture
def machine():
    """The profile that boards are checked against, as text; its limits are those of the tests beside it."""
    return MACHINE


MM = 4
"""The code of the millimetre in a drawing's header (DXF reference, INSUNITS)."""


def _drawing(folder, box, draw, units):
    import ezdxf

    drawing = ezdxf.new(units=units)
    space = drawing.modelspace()
    if callable(box):
        box(space)
    else:
        space.add_lwpolyline([(0, 0), (box[0], 0), box, (0, box[1])], close=True)
    if draw is not None:
        draw(space)
    drawing.saveas(folder / "outline.dxf")


@pytest.fixture
def answer(make_board, make_line):
    """Return a function that checks a board by some rules and gives what they say.

    Rows are those of the placement file; *sizes* gives length, width and height of references other than 5 × 5 × 1 mm,
    None for a part of which nothing is known; of these the BOM has those *listed*. *mounting* is that of
    board.toml, all but marks on the surface by default. The outline is a box, or drawn by a
    function; *draw* adds to it; *units* is the header's code of its unit. The result has ``outcomes``, pairs of
    subject and outcome, and ``messages``.
    """
    from capcheck.checking.answer import Choice, check

    def run(
        rows,
        *select,
        box=(100, 60),
        draw=None,
        sizes=None,
        listed=(),
        toml="",
        profiles=(MACHINE,),
        limits=None,
        units=MM,
        mounting=None,
    ):
        sizes = sizes or {}
        refs = [row.split(",")[0] for row in rows]
        known = [r for r in refs if not r.startswith("FID") and sizes.get(r, (5, 5, 1)) is not None]
        bom = ["Refs,Part number,Length [mm],Width [mm],Height [mm]"]
        bom += [f"{r},P-{r},{','.join(map(str, sizes.get(r, (5, 5, 1))))}" for r in known]
        bom += [f"{r},P-{r},,," for r in listed]
        settled = 'outline = "outline.dxf"\nunits = "mm"\norigin = { x = "0 mm", y = "0 mm" }\n'
        mounted = {"[A-EG-Z]*": "surface"} if mounting is None else mounting
        stated = ", ".join(f'"{pattern}" = "{how}"' for pattern, how in mounted.items())
        settled += f'bottom_view = "through the board"\nmounting = {{ {stated} }}\n'
        folder = make_board(rows, bom=bom, toml=settled + toml)
        _drawing(folder, box, draw, units)
        choice = Choice(select=select, limits=limits or {})
        report = check(folder, line=make_line(*profiles), choice=choice)
        named = [(f, f.subject.ref or f.subject.side or f.subject.machine or f.subject.kind) for f in report.findings]
        return SimpleNamespace(
            outcomes={(name, "undecided" if f.undecided else f.outcome) for f, name in named},
            messages=[f.message for f, _ in named],
            report=report,
        )

    return run
