from .outline_file import (
    OutlineOptions as OutlineOptions,
    OutlineReading as OutlineReading,
    is_outline_file as is_outline_file,
    read_outline as read_outline,
)
