"""IPC-7351 land-pattern names: the grammar, its numbers, and the body that they mean."""

from capcheck.packages.names.land_patterns.grammar import (
    may_be_land_pattern as may_be_land_pattern,
    read_land_pattern as read_land_pattern,
)
