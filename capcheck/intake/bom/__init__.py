"""Bills of materials: tables to lines with their references."""

from capcheck.intake.bom.bom_lines import BomReading as BomReading, mark_not_fitted as mark_not_fitted
from capcheck.intake.bom.bom_rows import supply_column as supply_column
from capcheck.intake.bom.lists_of_parts import (
    read_bom_tables as read_bom_tables,
    without_repeated_list as without_repeated_list,
)
