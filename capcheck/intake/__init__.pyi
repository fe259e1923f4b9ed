from .ahead import start_ahead as start_ahead
from .archives import (
    OF_MANY_BOARDS as OF_MANY_BOARDS,
    Limits as Limits,
    MemberPlaces as MemberPlaces,
    as_given as as_given,
    folder_of_archive as folder_of_archive,
    folder_of_git as folder_of_git,
    is_archive as is_archive,
    is_git_folder as is_git_folder,
    plain as plain,
    removed_at_the_end as removed_at_the_end,
    shown as shown,
    unpacked as unpacked,
    unpacked_elsewhere as unpacked_elsewhere,
    unpacked_files_kept as unpacked_files_kept,
    unpacked_from as unpacked_from,
)
from .compare import magnitude as magnitude
from .confined import SharedTime as SharedTime, decoded as decoded, encoded as encoded, limited as limited
from .drills import (
    Drilled as Drilled,
    Program as Program,
    Way as Way,
    points_of_drills as points_of_drills,
    read_drill_file as read_drill_file,
    ways_of_drills as ways_of_drills,
)
from .exchange import pitch_of as pitch_of
from .files import (
    Grid as Grid,
    leads_inside as leads_inside,
    tables_of_file as tables_of_file,
    text_of_file as text_of_file,
)
from .folder import (
    BoardFiles as BoardFiles,
    NoPlacementsError as NoPlacementsError,
    SeveralBoardsError as SeveralBoardsError,
    holds_placements as holds_placements,
)
from .layers import (
    Windows as Windows,
    drawn_around as drawn_around,
    layers_by_kind as layers_by_kind,
    read_layer as read_layer,
    time_of_a_board as time_of_a_board,
)
from .package import Package as Package
from .read import read_package as read_package
from .tables import (
    CellError as CellError,
    Role as Role,
    expand_each as expand_each,
    expand_references as expand_references,
    read_measure as read_measure,
)
from .told_of_board import ToldOfBoard as ToldOfBoard, said_of_board as said_of_board
from .whole_panel import stepped as stepped
