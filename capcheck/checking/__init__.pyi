from .answer import (
    check as check,
    check_as_settled as check_as_settled,
    check_board as check_board,
    check_prepared as check_prepared,
    check_read as check_read,
)
from .own_folders import files_of as files_of, names_for_others as names_for_others, renamed as renamed
from .part_outcomes import (
    parts_by_outcome as parts_by_outcome,
    refs_by_hand as refs_by_hand,
    refs_mounted as refs_mounted,
)
from .prepared import (
    Prepared as Prepared,
    devices_of as devices_of,
    libraries_of as libraries_of,
    prepare as prepare,
)
from .read import Libraries as Libraries, parts_of_types as parts_of_types, read_board as read_board
from .report import (
    Count as Count,
    ExitCode as ExitCode,
    PartResult as PartResult,
    Report as Report,
    Totals as Totals,
    Verdict as Verdict,
    exit_code_of as exit_code_of,
)
from .settled_board import read_prepared as read_prepared
