from .frames import decoded as decoded, encoded as encoded
from .limits import limited as limited
from .reader import Reader as Reader, SharedTime as SharedTime
