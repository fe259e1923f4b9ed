from .each_board import (
    Checked as Checked,
    NotChecked as NotChecked,
    Outcome as Outcome,
    checked_boards as checked_boards,
    common_folder as common_folder,
    exit_code_of_all as exit_code_of_all,
)
