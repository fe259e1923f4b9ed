"""A server of PostgreSQL for the tests, in a folder of its own; ``server.py start FOLDER`` prints its address.

It listens at a socket in the folder alone, and forgets everything with it.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

MISSING = "PostgreSQL is not installed, so nothing was tried on a server: apt-get install postgresql"
_USER = "postgres"


def programs() -> Path | None:
    """Return the folder of the server's programs; None where it is not installed."""
    found = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"))
    here = shutil.which("initdb")
    return found[-1].parent if found else Path(here).parent if here else None


def _run(*command: str | Path) -> None:
    # The server refuses to run as root.
    user = _USER if os.geteuid() == 0 else None
    # Without pipes: the server that is started would hold them open.
    done = subprocess.run(
        [str(part) for part in command], user=user, stdout=subprocess.DEVNULL, stderr=None, check=False
    )
    if done.returncode:
        sys.exit(f"{command[0]} ended with {done.returncode}")


def start(folder: Path) -> str:
    """Start a server in a new folder; return the address of its first database."""
    binaries = programs()
    if binaries is None:
        sys.exit(MISSING)
    folder.mkdir()
    if os.geteuid() == 0:
        shutil.chown(folder, _USER)
    data = folder / "data"
    _run(binaries / "initdb", "-D", data, "-U", _USER, "-A", "trust", "-E", "UTF8", "--no-sync")
    options = f"-k {folder} -h '' -c fsync=off -c max_connections=60"
    _run(binaries / "pg_ctl", "-D", data, "-o", options, "-l", folder / "log", "-w", "start")
    return f"postgresql://{_USER}@/{_USER}?host={folder}"


def stop(folder: Path) -> None:
    """Stop the server of a folder."""
    binaries = programs()
    if binaries is not None:
        _run(binaries / "pg_ctl", "-D", folder / "data", "-m", "immediate", "-w", "stop")


if __name__ == "__main__":
    if sys.argv[1] == "start":
        print(start(Path(sys.argv[2])))  # noqa: T201  the address is what is asked for
    else:
        stop(Path(sys.argv[2]))
