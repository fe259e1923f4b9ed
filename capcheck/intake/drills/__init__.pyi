from .drilled import with_drills as with_drills
from .file import is_drill_file as is_drill_file
