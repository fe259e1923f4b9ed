from .accuracy import CPK_CAPABLE as CPK_CAPABLE
from .api import Planned as Planned, compare as compare, compose as compose, plan as plan
from .both_sides import (
    TwoLanes as TwoLanes,
    TwoLines as TwoLines,
    on_two_lanes as on_two_lanes,
    on_two_lines as on_two_lines,
)
from .cost_of_boards import mean_cost as mean_cost
from .floor_work import (
    Bottleneck as Bottleneck,
    Owned as Owned,
    Refills as Refills,
    feeders_to_own as feeders_to_own,
    on_bottleneck as on_bottleneck,
    refills_an_hour as refills_an_hour,
)
from .hours_and_costs import (
    BoardCost as BoardCost,
    BreakEven as BreakEven,
    CostTerm as CostTerm,
    Demand as Demand,
    SetUpWork as SetUpWork,
)
from .job import PartDemand as PartDemand, Pass as Pass
from .job_of_boards import PlanInput as PlanInput, Supply as Supply, plan_input as plan_input
from .least_cycle import LeastCycle as LeastCycle, least_cycles as least_cycles
from .line_comparison import Comparison as Comparison, Row as Row
from .line_from_stock import Composed as Composed
from .part_accuracy import Placing as Placing
from .plan_data import (
    BenchTime as BenchTime,
    Feeder as Feeder,
    Nowhere as Nowhere,
    Plan as Plan,
    PlanSettings as PlanSettings,
    SetUp as SetUp,
    Shortage as Shortage,
)
from .planner import plan_line as plan_line
from .times import (
    BoardFigures as BoardFigures,
    GantrySum as GantrySum,
    MachineTime as MachineTime,
    Occupied as Occupied,
    PassFigures as PassFigures,
    StationTime as StationTime,
    Term as Term,
    read_containers as read_containers,
)
from .what_if import Change as Change
