"""The version of the program: a room of its own, below all others, since papers of any room state it."""

from typing import Final

__version__: Final = "0.1.0"
