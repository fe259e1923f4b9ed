from .board_of_report import board_of_report as board_of_report
from .comparison import Comparison as Comparison, Gap as Gap, compare_revisions as compare_revisions
from .data_changes import (
    BoardChange as BoardChange,
    Change as Change,
    DataChanges as DataChanges,
    Feeder as Feeder,
    PartChange as PartChange,
    Uncertain as Uncertain,
    data_changes as data_changes,
)
from .frame import SAME_MM as SAME_MM, Motion as Motion, in_later_frame as in_later_frame
from .mirrored import Mirrored as Mirrored
from .rows import Row as Row
from .sources import Revision as Revision, read_revision as read_revision
