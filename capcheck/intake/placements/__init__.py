"""Tables of placements: references, coordinates as written, angles, sides, and what each row stands for."""

from capcheck.intake.placements.angles import blank_angle as blank_angle
from capcheck.intake.placements.other_angles import doubted_titles as doubted_titles
from capcheck.intake.placements.part_types import group_types as group_types
from capcheck.intake.placements.pin_one import pin_1_places as pin_1_places, rotation_notes as rotation_notes
from capcheck.intake.placements.placement_columns import (
    Known as Known,
    PlacementColumns as PlacementColumns,
    with_starts as with_starts,
)
from capcheck.intake.placements.placement_table import read_placement_table as read_placement_table
from capcheck.intake.placements.row_kinds import Feature as Feature
from capcheck.intake.placements.rows_apart import (
    NamesBody as NamesBody,
    parts_among as parts_among,
    set_apart_by_kind as set_apart_by_kind,
)
