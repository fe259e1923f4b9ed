"""The files that ``capcheck init`` writes, commented and to be filled in; they stand in ``templates`` word for word.

Each names its schema in its first line, as editors read it; the schemas are written beside them.
"""

from __future__ import annotations

from pathlib import Path
from typing import Final

from capcheck.shop.schemas import schema_files

_FOLDER: Final = Path(__file__).with_name("templates")
_DEMO: Final = ("irrigation-controller", "lines", "machines", "rules", "packages")
_NAMES: Final = ("board.toml", "my.machine.toml", "my.line.toml", "capcheck.toml")


def templates() -> dict[str, str]:
    """Return the text of every file that ``capcheck init`` writes, by name."""
    return {name: (_FOLDER / name).read_text(encoding="utf-8") for name in _NAMES} | schema_files()


def demo() -> dict[str, bytes]:
    """Return every file of the demo, a board, lines with their machines, a shop's rules and library, by path."""
    package = Path(__file__).resolve().parent.parent
    installed = package / "_demo"
    home = installed if installed.is_dir() else package.parent / "fixtures"
    files = [file for folder in _DEMO for file in sorted((home / folder).rglob("*")) if file.is_file()]
    return {file.relative_to(home).as_posix(): file.read_bytes() for file in files}
