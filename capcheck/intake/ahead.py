"""The process that reads drawings, started before all else: loading its library takes longer than reading the tables.

A name is a hint here and no more. What a file is, is told by its content when it is read.
"""

from __future__ import annotations

from pathlib import Path
from typing import Final

from capcheck.intake.confined import Reader

_DRAWN: Final = ".dxf"
_LIBRARIES: Final = ("capcheck.intake.outline.outline_file", "ezdxf.filemanagement", "ezdxf.recover", "ezdxf.path")


def start_ahead(path: str | None, outline: str | None) -> None:
    """Have the reading process start where a drawing is named, or a folder or the folder of a board.toml has one."""
    if outline is None and path is None:
        return
    try:
        folder = Path(path or "")
        files = [outline] if outline else [p.name for p in (folder if folder.is_dir() else folder.parent).iterdir()]
    except OSError:
        return  # said when it is read
    if any(file.lower().endswith(_DRAWN) for file in files):
        Reader("capcheck.intake.outline.under_limits:load_here", "", _LIBRARIES).start()
