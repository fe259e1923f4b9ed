"""The tables that ship with the package, as TOML: parsed once for an installation, as Python does with its modules.

Parsing the sixty tables and rule files that a check needs takes as long as reading a board. What was parsed is kept
where Python keeps bytecode, as data, and taken while the file has the same size and time; where nothing can be kept,
the file is parsed again. Only files of the package are read so: what stands beside a customer's or a shop's file is
never looked at.
"""

from __future__ import annotations

import contextlib
import os
import sys
from importlib.util import cache_from_source
from pathlib import Path
from typing import Any, Final

import msgspec
import tomli

_FORM: Final = 1
"""Of what is kept; another is not read."""
Kept = tuple[int, int, int, dict[str, Any]]
"""Form, size of the file in bytes, time of its last change in nanoseconds, content."""


def own_table(path: Path) -> dict[str, Any]:
    """Return the content of a TOML file of the package. Raises ``tomli.TOMLDecodeError``: the package is damaged."""
    at = path.stat()
    kept = _kept_at(path)
    if kept is not None:
        with contextlib.suppress(OSError, msgspec.MsgspecError):
            form, size, changed, content = msgspec.msgpack.decode(kept.read_bytes(), type=Kept)
            if (form, size, changed) == (_FORM, at.st_size, at.st_mtime_ns):
                return content
    content = tomli.loads(path.read_text(encoding="utf-8"))
    if kept is not None and not sys.dont_write_bytecode:
        _keep(kept, (_FORM, at.st_size, at.st_mtime_ns, content))
    return content


def _kept_at(path: Path) -> Path | None:
    """Return where the content of *path* is kept; None where this Python keeps nothing."""
    try:
        beside = cache_from_source(str(path.with_name(f"{path.name}.py")))
    except NotImplementedError:
        return None
    return Path(beside).with_suffix(".msgpack")


def _keep(to: Path, kept: Kept) -> None:
    """Write what was parsed beside and rename it, so that another process never reads half of it; or do without."""
    part = to.with_name(f"{to.name}.{os.getpid()}")
    with contextlib.suppress(OSError):
        to.parent.mkdir(parents=True, exist_ok=True)
        part.write_bytes(msgspec.msgpack.encode(kept))
        part.replace(to)
