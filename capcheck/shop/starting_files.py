"""The files that ``capcheck init`` writes, from the descriptions of the models themselves."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from capcheck.machines import BoardLimits, Feeders, FiducialLimits, Head, LineFile, MachineProfile, Station, Timing
from capcheck.shop.board_template import manifest_template

if TYPE_CHECKING:
    from pydantic import BaseModel

EXAMPLES: Final[dict[str, str]] = {
    "note": '"from the specification of 2026"',
    "floor_width": '"1.3 m"',
    "floor_depth": '"1.9 m"',
    "rated": '"30000 1/hour"',
    "min_length": '"50 mm"',
    "max_length": '"510 mm"',
    "min_width": '"50 mm"',
    "max_width": '"460 mm"',
    "min_thickness": '"0.4 mm"',
    "max_thickness": '"4 mm"',
    "max_mass": '"3 kg"',
    "lanes": "1",
    "max_dual_lane_width": '"250 mm"',
    "edge_clearance_top": '"3 mm"',
    "edge_clearance_bottom": '"4 mm"',
    "underside_clearance": '"25 mm"',
    "top_clearance": '"15 mm"',
    "max_warp": '"1 mm"',
    "kinds": '["circle", "square"]',
    "min_diameter": '"0.5 mm"',
    "max_diameter": '"3 mm"',
    "search_window": '"3 mm"',
    "slots": "80",
    "slots_used": '{ "8 mm" = 1, "12 mm" = 2, "16 mm" = 2, "24 mm" = 3 }',
    "stick_slots": "4",
    "tray_places": "2",
    "tray_slots": "20",
    "pick": '"0.08 s"',
    "place": '"0.1 s"',
    "vision": '"0.15 s"',
    "gang_pick": "false",
    "speed": '"2 m/s"',
    "acceleration": '"20 m/s**2"',
    "travel_to_board": '"300 mm"',
    "travel_between_parts": '"50 mm"',
    "travel_between_feeders": '"20 mm"',
    "nozzle_change": '"2 s"',
    "tray": '"1.5 s"',
    "board_transfer": '"4 s"',
    "fiducial": '"0.5 s"',
    "derate": "[0.6, 0.8]",
    "uptime": "0.85",
    "gantry": "1",
    "nozzles": "8",
    "nozzle_kinds": "3",
    "smallest_chip": '"0603M"',
    "max_body_length": '"45 mm"',
    "max_body_width": '"45 mm"',
    "max_part_height": '"15 mm"',
    "max_part_mass": '"30 g"',
    "min_lead_pitch": '"0.4 mm"',
    "recognises_balls": "true",
    "min_ball_pitch": '"0.5 mm"',
    "min_ball_diameter": '"0.25 mm"',
    "coplanarity_check": "false",
    "accuracy": '"0.04 mm"',
    "accuracy_sigma": "3",
    "rotation_accuracy": '"0.05 degree"',
    "supplies": '["tape", "stick"]',
    "inspection": '["paste", "optical"]',
    "hand_placement": "true",
    "free_length": '"12 m"',
    "free_area": '"16 m**2"',
    "cycle": '"20 s"',
    "length": '"2.4 m"',
}
"""A natural value for every field that a template shows."""


def _section(model: type[BaseModel], skip: tuple[str, ...] = ()) -> str:
    fields = {name: field for name, field in model.model_fields.items() if name not in skip}
    settings = {name: f"{name} = {EXAMPLES[name]}" for name in fields}
    width = max(map(len, settings.values()))
    return "".join(f"# {settings[name]:{width}}  # {field.description}\n" for name, field in fields.items())


_MACHINE_SECTIONS: Final[dict[str, type[BaseModel]]] = {
    "board": BoardLimits,
    "fiducials": FiducialLimits,
    "feeders": Feeders,
    "timing": Timing,
}


def machine_template() -> str:
    """Return a commented machine profile with every field."""
    text = (
        "# Profile of one placement machine. Take the figures from the machine's own specification: those below are\n"
        "# examples. What is left out is unknown: rules that need it come out undecided, never as a pass.\n\n"
        'name = "My machine"\n\n'
    )
    text += _section(MachineProfile, ("name", "head", *_MACHINE_SECTIONS))
    for title, model in _MACHINE_SECTIONS.items():
        text += f"\n[{title}]  # {MachineProfile.model_fields[title].description}\n{_section(model)}"
    return f'{text}\n[[head]]  # once for each head\nname = "head 1"\n{_section(Head, ("name",))}'


def line_template() -> str:
    """Return a commented line file."""
    text = "# A line: its machines in the order in which a board passes them.\n\n"
    text += 'name     = "My line"\nmachines = ["my.machine.toml"]  # paths beside this file\n\n'
    text += _section(LineFile, ("name", "machines", "station"))
    about = LineFile.model_fields["station"].description
    return f'{text}\n# [[station]]  # {about}\n# name = "oven"\n{_section(Station, ("name",))}'


CONFIGURATION: Final = """\
# What holds for every check below this folder. Paths are relative to this file; all keys may be left out.
# "capcheck check --show-config" prints what is in force and where it comes from.

# line          = "my.line.toml"
# rules         = ["shop-rules"]      # folders or files with further rules
# libraries     = ["packages.csv"]    # package libraries of the shop
# ignore        = ["some-rule"]       # ids or tags of the rules to leave out
# strict        = true                # warnings and undecided rules fail too
# product_class = 2                   # by IPC-A-610: 1 general, 2 dedicated service, 3 high performance
# units         = "mm"                # unit in which reports print lengths: "mm", "mil" or "inch"

# [limits]                            # "capcheck explain RULE" prints a rule's limits
# some-rule.most = "11 mm"

# [outcomes]
# some-rule = "warn"

# [[waiver]]                          # a deviation that a reviewer accepted
# rule   = "some-rule"
# part   = "L*"
# reason = "seen in the sample"
# who    = "A. Reviewer"
# until  = 2030-12-31
"""


def templates() -> dict[str, str]:
    """Return every file that ``capcheck init`` writes, by name."""
    return {
        "board.toml": manifest_template(),
        "my.machine.toml": machine_template(),
        "my.line.toml": line_template(),
        "capcheck.toml": CONFIGURATION,
    }
