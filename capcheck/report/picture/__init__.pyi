from .drawing import board_svg as board_svg
from .marked_board import report_svg as report_svg
