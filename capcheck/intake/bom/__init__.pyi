from .bom_lines import BomReading as BomReading, mark_not_fitted as mark_not_fitted
from .bom_rows import supply_column as supply_column
from .lists_of_parts import (
    read_bom_tables as read_bom_tables,
    without_repeated_list as without_repeated_list,
)
