"""Machine profiles and lines."""

from capcheck.machines.feeder_slots import (
    TAPE_WIDTHS_MM as TAPE_WIDTHS_MM,
    has_feeder as has_feeder,
    slots_of_tape as slots_of_tape,
    tape_widths as tape_widths,
)
from capcheck.machines.line import (
    Line as Line,
    LineFile as LineFile,
    line_of_machines as line_of_machines,
    read_line as read_line,
    read_machine as read_machine,
)
from capcheck.machines.profile import (
    BoardLimits as BoardLimits,
    Feeders as Feeders,
    FiducialLimits as FiducialLimits,
    Head as Head,
    MachineProfile as MachineProfile,
    Nozzle as Nozzle,
    Timing as Timing,
    chip_codes as chip_codes,
    chip_sides as chip_sides,
)
