"""What may run code: files that the user has looked at once and trusts by their content.

A file is known by the SHA-256 of its bytes, not by its name or place: a changed file is another one and asks again.
The list is text, a hash and a path a line, in the user's state folder, where no customer's package can put anything.
"""

from __future__ import annotations

import hashlib
import os
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import Final

from capcheck.values import InputError, refuse_special, visible

_LIST: Final = Path("capcheck") / "trusted"
_DIGITS: Final = 64


def trust_list() -> Path:
    """Return the file that lists what is trusted. Raises :class:`InputError` where the user has no home folder."""
    stated = os.environ.get("LOCALAPPDATA" if sys.platform == "win32" else "XDG_STATE_HOME", "")
    if Path(stated).is_absolute():  # one below the working directory could be a customer's
        return Path(stated) / _LIST
    try:
        home = Path.home()
    except RuntimeError:
        raise InputError.at("trust", "the user has no home folder", remedy="set XDG_STATE_HOME to a folder") from None
    if not home.is_absolute():
        raise InputError.at(
            "trust", "the home folder is given as a relative path", remedy="set XDG_STATE_HOME to a folder"
        )
    usual = "Library/Application Support" if sys.platform == "darwin" else ".local/state"
    return home / usual / _LIST


def read_trusted() -> dict[str, str]:
    """Return the hashes of what is trusted, each with the path that it had; none where there is no list."""
    try:
        text = trust_list().read_text(encoding="utf-8", errors="replace")
    except (OSError, InputError):
        return {}
    rows = (line.split(" ", 1) for line in text.splitlines())
    return {row[0]: row[1] for row in rows if len(row) == 2 and len(row[0]) == _DIGITS}


def as_text(trusted: Mapping[str, str]) -> str:
    """Return the list as its file holds it."""
    return "".join(f"{digest} {visible(path)}\n" for digest, path in sorted(trusted.items(), key=lambda row: row[::-1]))


def hash_of(path: Path) -> str:
    """Return what a file is known by. Raises :class:`InputError`."""
    refuse_special(path)
    try:
        return hashlib.sha256(path.read_bytes()).hexdigest()
    except OSError as error:
        raise InputError.at(str(path), f"cannot be read: {error.strerror}", remedy="check the path") from None


def not_trusted(digests: Mapping[Path, str]) -> list[Path]:
    """Return the files of whose content, by its SHA-256, nothing says that it is trusted."""
    known = read_trusted() if digests else {}
    return [path for path, digest in digests.items() if digest not in known]
