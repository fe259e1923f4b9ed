from .drawing import (
    board_svg as board_svg,
    drawn_places as drawn_places,
    picture_remarks as picture_remarks,
    two_sides as two_sides,
)
from .marked_board import report_svg as report_svg
from .overlay import OVERLAY_STYLE as OVERLAY_STYLE, Drawn as Drawn, overlay_svg as overlay_svg
from .style import PICTURE_STYLE as PICTURE_STYLE
from .thumbnail import Thumbnails as Thumbnails, size_of_png as size_of_png
