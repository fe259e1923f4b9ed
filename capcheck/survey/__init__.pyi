from .boards_on_lines import Surveyor as Surveyor, survey as survey
from .each_board import (
    Checked as Checked,
    NotChecked as NotChecked,
    Outcome as Outcome,
    checked_boards as checked_boards,
    common_folder as common_folder,
    exit_code_of_all as exit_code_of_all,
)
from .obstacles import obstacles_of as obstacles_of
from .quantities import read_quantities as read_quantities
from .results import (
    BoardResult as BoardResult,
    Case as Case,
    Cause as Cause,
    CauseKind as CauseKind,
    Demand as Demand,
    Limit as Limit,
    LineResult as LineResult,
    Obstacle as Obstacle,
    Step as Step,
    Survey as Survey,
    Unread as Unread,
)
