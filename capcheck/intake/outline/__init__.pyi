from .beside import Beside as Beside, Compared as Compared
from .drawing import MM_PER as MM_PER
from .form import Likeness as Likeness, OutlineForm as OutlineForm
from .forms import HEAD_BYTES as HEAD_BYTES, likeliest_form as likeliest_form, read_drawing as read_drawing
from .outline_file import OutlineOptions as OutlineOptions, OutlineReading as OutlineReading
from .under_limits import (
    expect_outline as expect_outline,
    read_beside as read_beside,
    read_outline as read_outline,
    start_reading as start_reading,
)
