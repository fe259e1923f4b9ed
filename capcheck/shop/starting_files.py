"""The files that ``capcheck init`` writes, commented and to be filled in; they stand in ``templates`` word for word.

Each names its schema in its first line, as editors read it; the schemas are written beside them.
"""

from __future__ import annotations

from pathlib import Path
from typing import Final

from capcheck.shop.schemas import schema_files

_FOLDER: Final = Path(__file__).with_name("templates")
_NAMES: Final = ("board.toml", "my.machine.toml", "my.line.toml", "capcheck.toml")


def templates() -> dict[str, str]:
    """Return the text of every file that ``capcheck init`` writes, by name."""
    return {name: (_FOLDER / name).read_text(encoding="utf-8") for name in _NAMES} | schema_files()
