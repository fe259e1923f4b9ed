"""What a board becomes: placements, parts with bodies, outline, and what was inferred or set aside on the way."""

from capcheck.model.board import Board as Board, BoardSize as BoardSize, Outline as Outline
from capcheck.model.families import QUAD_FLAT as QUAD_FLAT, Family as Family
from capcheck.model.panel import Box as Box, Stepping as Stepping, stepping as stepping
from capcheck.model.parts import (
    NOT_ON_THE_SURFACE as NOT_ON_THE_SURFACE,
    UNKNOWN_MEASURE as UNKNOWN_MEASURE,
    Basis as Basis,
    Body as Body,
    BomLine as BomLine,
    Codes as Codes,
    Flags as Flags,
    Floats as Floats,
    Ints as Ints,
    Kind as Kind,
    LeadStyle as LeadStyle,
    Measure as Measure,
    Mounting as Mounting,
    Packaging as Packaging,
    PartName as PartName,
    Placements as Placements,
    Side as Side,
)
from capcheck.model.record import (
    NOTHING as NOTHING,
    Decision as Decision,
    Discrepancy as Discrepancy,
    InputFile as InputFile,
    Note as Note,
    ReadColumn as ReadColumn,
    ReadTable as ReadTable,
    Said as Said,
    SetAside as SetAside,
    Severity as Severity,
    Topic as Topic,
    say as say,
)
from capcheck.model.stated import (
    Fiducial as Fiducial,
    Manifest as Manifest,
    PanelSource as PanelSource,
    PlacementSource as PlacementSource,
    load_manifest as load_manifest,
)
