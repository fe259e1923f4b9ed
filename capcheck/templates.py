"""The files that ``capcheck init`` writes, from the descriptions of the models themselves."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING, Any, Final

from capcheck.intake.manifest_template import manifest_template
from capcheck.machines.line import LineFile, Station
from capcheck.machines.profile import BoardLimits, Feeders, FiducialLimits, Head, MachineProfile, Timing

if TYPE_CHECKING:
    from pydantic import BaseModel
    from pydantic.fields import FieldInfo

_EXAMPLES: Final[dict[str, str]] = {
    "kinds": '["circle"]', "slots": "80", "slots_used": '{ "8 mm" = 1, "12 mm" = 2, "16 mm" = 2, "24 mm" = 3 }',
    "stick_slots": "4", "tray_places": "2", "tray_slots": "20", "gang_pick": "false", "derate": "[0.6, 0.8]",
    "uptime": "0.85", "gantry": "1", "nozzles": "8", "nozzle_kinds": "3", "smallest_chip": '"0603M"',
    "recognises_balls": "true", "coplanarity_check": "false", "accuracy_sigma": "3",
    "supplies": '["tape", "stick"]', "lanes": "1", "inspection": '["paste", "optical"]', "hand_placement": "true",
    "note": '"from the data sheet of …"', "cycle": '"20 s"',
}  # fmt: skip
"""Values of fields whose type does not say how to write them."""


def _example(name: str, field: FieldInfo) -> str:
    if name in _EXAMPLES:
        return _EXAMPLES[name]
    for item in field.metadata:
        dimension = getattr(item, "dimension", None)
        if dimension is not None:
            return f'"{dimension.example}"'
    for inner in getattr(field.annotation, "__args__", ()):
        for item in getattr(inner, "__metadata__", ()):
            dimension = getattr(item, "dimension", None)
            if dimension is not None:
                return f'"{dimension.example}"'
    return '"…"'


def _section(model: type[BaseModel], skip: tuple[str, ...] = ()) -> str:
    lines = []
    for name, field in model.model_fields.items():
        if name in skip:
            continue
        lines += textwrap.wrap(f"# {field.description}", 100, subsequent_indent="#   ")
        lines.append(f"# {name} = {_example(name, field)}")
    return "\n".join(lines) + "\n"


def machine_template() -> str:
    """Return a commented machine profile with every field."""
    sections: dict[str, Any] = {"board": BoardLimits, "fiducials": FiducialLimits, "feeders": Feeders, "timing": Timing}
    text = (
        "# Profile of one placement machine. Take the figures from the machine's own specification. What is left out\n"
        "# is unknown: rules that need it come out undecided, never as a pass. Quantities are texts with a unit.\n\n"
        'name = "My machine"\n\n'
    )
    text += _section(MachineProfile, ("name", "head", *sections))
    for title, model in sections.items():
        text += f"\n[{title}]\n# {MachineProfile.model_fields[title].description}\n{_section(model)}"
    return f'{text}\n[[head]] # once for each head\nname = "head 1"\n{_section(Head, ("name",))}'


def line_template() -> str:
    """Return a commented line file."""
    text = "# A line: its machines in the order in which a board passes them.\n\n"
    text += 'name     = "My line"\nmachines = ["my.machine.toml"] # paths beside this file\n\n'
    text += _section(LineFile, ("name", "machines", "station"))
    return f'{text}\n# [[station]] # {LineFile.model_fields["station"].description}\n# name = "oven"\n{_section(Station, ("name",))}'


def templates() -> dict[str, str]:
    """Return every file that ``capcheck init`` writes, by name."""
    return {
        "board.toml": manifest_template(),
        "my.machine.toml": machine_template(),
        "my.line.toml": line_template(),
    }
