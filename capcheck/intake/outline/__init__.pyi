from .form import Likeness as Likeness, OutlineForm as OutlineForm
from .forms import (
    HEAD_BYTES as HEAD_BYTES,
    expect_drawing as expect_drawing,
    likeliest_form as likeliest_form,
    start_reading as start_reading,
)
from .outline_file import (
    OutlineOptions as OutlineOptions,
    OutlineReading as OutlineReading,
    read_outline as read_outline,
)
