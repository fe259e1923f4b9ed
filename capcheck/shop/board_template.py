"""The commented board.toml that ``capcheck init`` writes."""

from __future__ import annotations

from typing import Final

_TEMPLATE: Final = """\
# board.toml: what the board's files do not say. Every line is optional: take the # off and fill in what you know.
# Texts and quantities stand in quotes; a quantity carries its unit: "1.6 mm", "63 mil", "30 g".

# name = "Controller board, revision C"

# The files, from this folder. Without these lines they are recognised by content.
# placements = ["placements-top.csv", "placements-bottom.csv"]
# bom = "bom.csv"
# outline = "outline.dxf"

# What the placement files leave open.
# units = "mm"                         # mm, mil, inch, cm or µm
# decimal = "."                        # or ","
# side = "top"                         # where no column tells the side
# origin = { x = "0 mm", y = "0 mm" }  # added to x and y, so that they lie in the outline's frame
# y_axis = "up"                        # or "down"
# bottom_view = "through the board"    # x of bottom placements as seen from the top; or "from below": mirrored
# size_codes = "metric"                # or "inch": how to read 0402, 0603 where both systems have the code
# prefer = "bom"                       # or "footprint", "library": whose body is believed where they differ

# What is fitted in this order.
# variant = "Quantity A"               # the BOM column that counts
# not_fitted = ["R7", "C20-C24"]

# The board.
# length = "120 mm"                    # where there is no outline
# width = "80 mm"
# thickness = "1.6 mm"
# mass = "85 g"                        # populated
# density = "1.85 g/cm**3"             # of the bare board
# bow_percent = 0.5                    # greatest bow and twist that the board's maker warrants, in percent
# twist_percent = 0.5
# product_class = 2                    # 1, 2 or 3
# travel = "along x"                   # carried on its lower and upper edge; "along y": on its left and right edge

# Columns that are not recognised, by header or by number from 1.
# [columns.placements]
# reference = "Designator"
# x = "Mid X"
# y = "Mid Y"

# [columns.bom]
# reference = "Parts"
# height = "H max"

# References or patterns: what they are, and how they are mounted.
# [kinds]
# "MK*" = "fiducial"                   # part, fiducial or mechanical

# [mounting]
# "J1" = "through hole"                # surface, through hole or none

# One circuit stepped to a panel.
# [panel]
# columns = 2
# rows = 3
# pitch_x = "52 mm"
# pitch_y = "41 mm"
# half_turns = "none"                  # or "columns", "rows", "alternate"
# rails = { top = "6 mm", bottom = "6 mm" }
# parting = "score"                    # score, tabs or routed
# tabs = [{ x = "26 mm", y = "0 mm" }] # break-off tabs of one circuit, where they are known

# What a proposed panel assumes; without these lines a gap of 2 mm and rails of 5 mm.
# [panel_proposal]
# gap = "2 mm"
# rail = "7 mm"

# Marks that the placement files do not list.
# [[fiducials]]
# x = "3 mm"
# y = "3 mm"
# diameter = "1 mm"
# side = "top"
# kind = "panel"                       # panel, board or local
# shape = "circle"                     # circle, square, diamond, triangle or cross
"""


def manifest_template() -> str:
    """Return a board.toml in which every line is a comment that shows a key with an example."""
    return _TEMPLATE
