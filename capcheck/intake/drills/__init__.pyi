from .drilled import with_drills as with_drills
from .file import (
    expect_drill_file as expect_drill_file,
    is_drill_file as is_drill_file,
    read_drill_file as read_drill_file,
)
from .program import (
    Drilled as Drilled,
    Program as Program,
    Way as Way,
    begins_as_program as begins_as_program,
    points_of_drills as points_of_drills,
    ways_of_drills as ways_of_drills,
)
