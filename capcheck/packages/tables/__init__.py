"""Published sizes, outlines, ball diameters and tapes, read once from the tables in ``packages/data``."""

from capcheck.packages.tables.ball_diameters import ball_diameter as ball_diameter
from capcheck.packages.tables.cans import base_of as base_of, diameter_of as diameter_of
from capcheck.packages.tables.csv_rows import Row as Row, number as number, rows_of as rows_of
from capcheck.packages.tables.nominal import nominal_size as nominal_size
from capcheck.packages.tables.sizes import Size as Size, System as System, size_table as size_table
from capcheck.packages.tables.tapes import tape_for_body as tape_for_body
