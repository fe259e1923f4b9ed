"""Published sizes, families of outlines, ball diameters and tapes, read once from ``packages/data``."""

from capcheck.model import Family as Family
from capcheck.packages.tables.ball_diameters import ball_diameter as ball_diameter
from capcheck.packages.tables.family_tables import (
    FROM_MEMORY as FROM_MEMORY,
    LandPattern as LandPattern,
    Layout as Layout,
    Outline as Outline,
    Word as Word,
    families as families,
    family_table as family_table,
)
from capcheck.packages.tables.rows import (
    DATA as DATA,
    converted as converted,
    meanings as meanings,
    part_words as part_words,
    rows_in as rows_in,
    rows_of as rows_of,
)
from capcheck.packages.tables.sizes import (
    Clash as Clash,
    Size as Size,
    System as System,
    nominal_size as nominal_size,
    size_table as size_table,
)
from capcheck.packages.tables.tapes import over_all as over_all, tape_for_body as tape_for_body
