from .find import holds_placements as holds_placements
from .found import Found as Found
from .no_board import (
    BoardFiles as BoardFiles,
    NoPlacementsError as NoPlacementsError,
    SeveralBoardsError as SeveralBoardsError,
)
from .sources import (
    Sources as Sources,
    choose_sources as choose_sources,
    input_files as input_files,
)
