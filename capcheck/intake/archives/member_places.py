"""Where the files of an archive are written: nowhere but below one folder, and no two of its folders into one.

Names are made plain, so that none leads elsewhere and each can be written on any system. What differed by more than
that, by capitals, a trailing point or a sign that no file name may have, is kept apart by a number.
"""

from __future__ import annotations

import re
from pathlib import Path
from typing import Final

from msgspec import Struct, field

_UNSAFE: Final = r"[^\w.()+ -]"
_LONGEST: Final = 80
_DEVICE: Final = r"(?i)(?:con|prn|aux|nul|com[0-9]|lpt[0-9])(?:\..*)?"
"""Names that Windows keeps for devices, whatever stands behind their first point."""


def plain(name: str) -> str:
    """Return a name that leads nowhere."""
    safe = re.sub(_UNSAFE, "_", name)[-_LONGEST:].strip(". ") or "_"
    return f"_{safe}" if re.fullmatch(_DEVICE, safe) else safe


class _Folder(Struct):
    """The plain name of each name in a folder, and as what they are one where *capitals* do not count."""

    capitals: bool
    names: dict[str, str] = field(default_factory=dict)
    taken: set[str] = field(default_factory=set)

    def plain(self, name: str) -> str:
        """Return the plain name of *name*, which no other has."""
        if name not in self.names:
            own = plain(name.rsplit("/", 1)[-1])
            while self._read(own) in self.taken:
                own = f"{len(self.names)}-{own}"
            self.names[name] = own
            self.taken.add(self._read(own))
        return self.names[name]

    def _read(self, name: str) -> str:
        return name if self.capitals else name.casefold()


class MemberPlaces:
    """Gives each member of an archive a path below *root*, so many folders deep; a file *number* keeps copies apart."""

    def __init__(self, root: Path, depth: int) -> None:
        self._root = root
        self._depth = depth
        self._folders: dict[Path, _Folder] = {}
        self._capitals = not root.with_name(root.name.swapcase()).exists()

    def of(self, name: str, number: int) -> Path:
        """Return the path for a member, with its folder made."""
        parts = [part for part in name.split("/") if part not in {"", "."}] or ["_"]
        above = parts[: -self._depth]
        parts = parts[-self._depth :]
        if above:  # what is not told apart by folders of its own is so by one name
            parts[0] = "/".join([*above, parts[0]])
        path = self._root
        for part in parts:
            path /= self._folders.setdefault(path, _Folder(self._capitals)).plain(part)
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
        except OSError:  # a file bears the name of the folder
            path = self._root / f"{number}-{path.name}"
        return path.with_name(f"{number}-{path.name}") if path.exists() else path
