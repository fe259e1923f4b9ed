"""What can be downloaded of a checked board: the files that a worker wrote."""

from __future__ import annotations

from typing import Final

from msgspec import Struct

from capcheck.desk.areas.area import Area, Seen

DOWNLOADS: Final = "downloads"


class Download(Struct, frozen=True):
    """A file by its name, with its bytes counted."""

    name: str
    size: int


def shown(seen: Seen, _: None) -> tuple[Download, ...]:
    """Return the files there are by now."""
    folder = None if seen.folder is None else seen.folder / DOWNLOADS
    if folder is None or not folder.is_dir():
        return ()
    files = [path for path in sorted(folder.iterdir()) if path.is_file() and not path.name.startswith(".")]
    return tuple(Download(path.name, path.stat().st_size) for path in files)


AREA: Final = Area("downloads", "Files to download", shown)
