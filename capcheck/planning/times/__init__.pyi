from .cycle_time import (
    GantrySum as GantrySum,
    HeadLoad as HeadLoad,
    MachineTime as MachineTime,
    fixed_times as fixed_times,
    lanes_hide_transfer as lanes_hide_transfer,
    machine_time as machine_time,
    stated_uptime as stated_uptime,
    uptime as uptime,
)
from .feeder_slots import (
    Occupied as Occupied,
    Places as Places,
    occupied as occupied,
    place_name as place_name,
    places as places,
    places_at as places_at,
)
from .heads import (
    HeadTimes as HeadTimes,
    Term as Term,
    TimeBasis as TimeBasis,
    Work as Work,
    head_times as head_times,
)
from .line_figures import (
    BoardFigures as BoardFigures,
    Floor as Floor,
    PassFigures as PassFigures,
    StationTime as StationTime,
    area_of as area_of,
    floor_of as floor_of,
    pass_figures as pass_figures,
    takt as takt,
)
from .parts_per_reel import read_containers as read_containers
from .size_times import size_of as size_of
