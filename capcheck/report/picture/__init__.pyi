from .drawing import board_svg as board_svg
