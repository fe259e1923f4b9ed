from .api import compare as compare, compose as compose, plan as plan
from .checked_boards import Supply as Supply, hand_lines as hand_lines
from .comparison import Comparison as Comparison, Row as Row
from .composition import Composed as Composed
from .placing import Placing as Placing
from .results import (
    Demand as Demand,
    Feeder as Feeder,
    Plan as Plan,
    PlanSettings as PlanSettings,
    SetUp as SetUp,
    Shortage as Shortage,
)
from .set_up_lists import hand_list as hand_list, set_up_list as set_up_list, slot_text as slot_text
from .times import (
    CPK_CAPABLE as CPK_CAPABLE,
    BoardFigures as BoardFigures,
    GantrySum as GantrySum,
    MachineTime as MachineTime,
    Occupied as Occupied,
    PassFigures as PassFigures,
    Term as Term,
    read_containers as read_containers,
)
from .what_if import Change as Change
