"""``--watch``: the command runs again whenever one of its files changes, until it is stopped."""

from __future__ import annotations

import argparse
import os
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Final, TypeAlias

_EVERY_S: Final = 0.5
_MOST_FILES: Final = 20_000
"""Beyond so many files below what is named, changes are not seen: a disk is not a board."""
_OUTPUTS: Final = frozenset({"output", "store", "cluster"})
State: TypeAlias = dict[str, tuple[int, int, int]]
"""Time of change, size and number of each file by its path."""


def add_watch(parser: argparse.ArgumentParser) -> None:
    """Add the choice to run again at each change."""
    parser.add_argument(
        "--watch", action="store_true", help="run again whenever a file of the board, line or shop changes; end: Ctrl-C"
    )


def run_at_each_change(
    once: Callable[[], int], arguments: argparse.Namespace, *, wait: Callable[[float], None] = time.sleep
) -> int:
    """Run *once*, and again whenever a file changes that the arguments name or that lies below one of their folders.

    Only KeyboardInterrupt ends it, as *wait* or the run raises it. What the run itself writes is not looked at. A
    change counts when files have been still for one look, so that a copy under way is not read in the middle.
    """
    while True:
        before = _state(arguments)
        once()
        sys.stdout.flush()
        sys.stderr.write("watching; Ctrl-C ends\n")
        sys.stderr.flush()
        while (now := _state(arguments)) == before:
            wait(_EVERY_S)
        while True:
            wait(_EVERY_S)
            if (later := _state(arguments)) == now:
                break
            now = later
        changed = sorted({*before, *now} - {name for name in before if before[name] == now.get(name)})
        _tell(changed)


def _tell(changed: list[str]) -> None:
    from capcheck.values import few, visible

    sys.stderr.write(f"\nchanged: {visible(few([os.path.relpath(name) for name in changed], 3))}\n")


def _state(arguments: argparse.Namespace) -> State:
    """Return how every file looks that the run depends on."""
    given = vars(arguments)
    written = {os.path.realpath(path) for path in given.get("output") or () if isinstance(path, Path)}
    named = [
        str(item)
        for name, value in given.items()
        if name not in _OUTPUTS
        for item in (value if isinstance(value, list) else [value])
        if isinstance(item, str | Path) and item != ""
    ]
    found: State = {}
    for path in [*named, *_of_the_shop(arguments)]:
        for file in _files(path):
            real = os.path.realpath(file)
            if len(found) < _MOST_FILES and real not in written and os.path.dirname(real) not in written:  # noqa: PTH120
                try:
                    seen = os.stat(real)  # noqa: PTH116 - called for thousands of files twice a second
                except OSError:
                    continue
                found[real] = (seen.st_mtime_ns, seen.st_size, seen.st_ino)
    return found


def _files(path: str) -> Iterator[str]:
    """Yield a file, or the files below a folder; nothing for what is neither. Hidden folders are passed over."""
    if not os.path.isdir(path):  # noqa: PTH112
        yield path
        return
    for here, below, files in os.walk(path):
        below[:] = [name for name in below if not name.startswith(".")]
        yield from (os.path.join(here, name) for name in files)  # noqa: PTH118


def _of_the_shop(arguments: argparse.Namespace) -> list[str]:
    """Return what the configuration in force names, and the machines of the line: as far as they can be read."""
    from capcheck.checking import devices_of
    from capcheck.commands.command import configuration_for, settings_of
    from capcheck.values import InputError

    found: list[str | Path] = []
    try:
        configuration = configuration_for(arguments)
        found += [configuration.path] if configuration.path is not None else []
        settings = settings_of(arguments, configuration, next(iter(arguments.paths), None))
        found += [*(path for path, _ in settings.files()), *([settings.line] if settings.line else [])]
        line = devices_of(settings, arguments.machine)
        found += [file.path for file in (line.inputs if line is not None else ())]
    except InputError:  # told by the run itself; what is known so far is watched
        pass
    return [str(path) for path in found]
