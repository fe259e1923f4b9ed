"""All coordinates in one frame: unit, origin, direction of y, the bottom side's mirroring, panels."""

from capcheck.intake.frame.circuits import (
    Panel as Panel,
    circuit_box as circuit_box,
    step as step,
    step_outline as step_outline,
)
from capcheck.intake.frame.positions import Located as Located, locate as locate
