from .boards_on_lines import Surveyor as Surveyor, survey as survey
from .coverage import (
    Beyond as Beyond,
    Cover as Cover,
    Envelope as Envelope,
    Left as Left,
    at_share as at_share,
    by_quantity as by_quantity,
    cover as cover,
    envelopes as envelopes,
)
from .each_board import (
    Checked as Checked,
    NotChecked as NotChecked,
    Outcome as Outcome,
    Watch as Watch,
    checked_boards as checked_boards,
    common_folder as common_folder,
    exit_code_of_all as exit_code_of_all,
)
from .needs import (
    EDGES as EDGES,
    LIMITS as LIMITS,
    BoardNeeds as BoardNeeds,
    Need as Need,
    ProfileLimit as ProfileLimit,
    by_whom as by_whom,
    needs_of as needs_of,
    needs_of_boards as needs_of_boards,
)
from .obstacles import obstacles_of as obstacles_of
from .profile_of_cover import profile_text as profile_text, rounded as rounded
from .quantities import read_quantities as read_quantities
from .results import (
    BoardResult as BoardResult,
    Case as Case,
    Cause as Cause,
    CauseKind as CauseKind,
    Demand as Demand,
    HeadChange as HeadChange,
    Limit as Limit,
    LineResult as LineResult,
    Obstacle as Obstacle,
    OneHead as OneHead,
    Step as Step,
    Survey as Survey,
    Unread as Unread,
)
from .sent_work import cluster as cluster
