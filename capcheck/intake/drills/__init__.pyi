from .drilled import with_drills as with_drills
from .file import (
    expect_drill_file as expect_drill_file,
    is_drill_file as is_drill_file,
    read_drill_file as read_drill_file,
)
from .program import (
    Program as Program,
    begins_as_program as begins_as_program,
    points_of_drill as points_of_drill,
    ways_of_drills as ways_of_drills,
)
