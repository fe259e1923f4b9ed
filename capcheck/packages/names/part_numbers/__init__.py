"""Makers' part numbers: what the published schemes of their digits and letters say of a body."""

from capcheck.packages.names.part_numbers.cells import alternates as alternates
from capcheck.packages.names.part_numbers.read import (
    may_hold_number as may_hold_number,
    read_part_numbers as read_part_numbers,
)
from capcheck.packages.names.part_numbers.statements import bounds_said as bounds_said, names_given as names_given
