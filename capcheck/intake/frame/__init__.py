"""All coordinates in one frame: unit, origin, direction of y, the bottom side's mirroring, panels."""

from capcheck.intake.frame.coordinate_unit import decide_units as decide_units
from capcheck.intake.frame.panel_in_placements import Panel as Panel
from capcheck.intake.frame.positions import Located as Located, locate as locate
from capcheck.intake.frame.stepped_panel import step as step, step_outline as step_outline
