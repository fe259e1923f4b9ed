from .board import Board as Board, BoardSize as BoardSize
from .families import ONE_SIDED as ONE_SIDED, QUAD_FLAT as QUAD_FLAT, Family as Family
from .forms_of_parts import (
    NOT_ON_THE_SURFACE as NOT_ON_THE_SURFACE,
    LeadStyle as LeadStyle,
    Mounting as Mounting,
    Packaging as Packaging,
)
from .lands import (
    LAYERS_OF_LANDS as LAYERS_OF_LANDS,
    BoardLands as BoardLands,
    Holes as Holes,
    How as How,
    LayerFile as LayerFile,
    LayerKind as LayerKind,
    Layers as Layers,
    LayerSide as LayerSide,
    Mark as Mark,
    Openings as Openings,
    OtherPlaces as OtherPlaces,
    PartLands as PartLands,
    Registered as Registered,
)
from .outline import (
    LARGEST_SCREW_HOLE_MM as LARGEST_SCREW_HOLE_MM,
    Doubt as Doubt,
    HoleUse as HoleUse,
    Outline as Outline,
    Placed as Placed,
    StatedHole as StatedHole,
)
from .panel import Box as Box, OrderedPanel as OrderedPanel, Stepping as Stepping, stepping as stepping
from .parts import (
    UNKNOWN_MEASURE as UNKNOWN_MEASURE,
    UNREAD_SIZE as UNREAD_SIZE,
    Basis as Basis,
    Body as Body,
    BomLine as BomLine,
    Codes as Codes,
    Flags as Flags,
    Floats as Floats,
    Ints as Ints,
    Kind as Kind,
    Measure as Measure,
    PartName as PartName,
    Placements as Placements,
    PossibleBody as PossibleBody,
    Side as Side,
    about as about,
    in_some_unit as in_some_unit,
    unread as unread,
)
from .record import (
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
from .stated import (
    Fiducial as Fiducial,
    LayerName as LayerName,
    Manifest as Manifest,
    PanelAssumptions as PanelAssumptions,
    PanelSource as PanelSource,
    PlacementSource as PlacementSource,
    Rails as Rails,
    load_manifest as load_manifest,
    unit_spellings as unit_spellings,
)
