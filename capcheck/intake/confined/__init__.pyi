from .frames import decoded as decoded, encoded as encoded
from .reader import Reader as Reader, SharedTime as SharedTime
