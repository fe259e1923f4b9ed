from .frames import decoded as decoded
from .reader import Reader as Reader
