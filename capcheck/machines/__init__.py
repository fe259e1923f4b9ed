"""Machine profiles and lines."""

from capcheck.machines.bank_places import (
    TRAY_UNIT as TRAY_UNIT,
    BankPlaces as BankPlaces,
    Packing as Packing,
    packing_of_body as packing_of_body,
    places_of as places_of,
    pocket_of as pocket_of,
)
from capcheck.machines.bank_room import Room as Room, fewest_without_place as fewest_without_place
from capcheck.machines.banks import Bank as Bank
from capcheck.machines.feeder_slots import (
    TAPE_WIDTHS_MM as TAPE_WIDTHS_MM,
    WITHOUT_TAPE as WITHOUT_TAPE,
    has_feeder as has_feeder,
    slots_of_tape as slots_of_tape,
    tape_widths as tape_widths,
)
from capcheck.machines.head import (
    Head as Head,
    chip_codes as chip_codes,
    chip_of_length as chip_of_length,
    chip_sides as chip_sides,
    chip_within as chip_within,
)
from capcheck.machines.line import (
    Bench as Bench,
    Line as Line,
    LineFile as LineFile,
    line_of_machines as line_of_machines,
    read_line as read_line,
    read_machine as read_machine,
)
from capcheck.machines.nozzles import Nozzle as Nozzle, holding as holding
from capcheck.machines.part_ranges import PartRange as PartRange, spans_of as spans_of
from capcheck.machines.profile import (
    BoardLimits as BoardLimits,
    Feeders as Feeders,
    FiducialLimits as FiducialLimits,
    MachineProfile as MachineProfile,
    Timing as Timing,
)
