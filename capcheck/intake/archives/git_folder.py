"""A folder as it stood at a git revision: its files in a folder of this run alone; nothing is checked out.

``REVISION:FOLDER`` names it, the folder as paths are elsewhere: from the working directory. git is asked for names and
bytes only, without a filter, a hook or the network, so that nothing which a repository sets is obeyed.
"""

from __future__ import annotations

import os
import subprocess
import tempfile
from collections.abc import Sequence
from pathlib import Path, PurePosixPath
from typing import Final

from msgspec import Struct

from capcheck.intake.archives.archive import unpacked_from
from capcheck.values import InputError

_MOST_FILES: Final = 2_000
_LARGEST: Final = 100 * 1024 * 1024
_SECONDS: Final = 60
_POINTER: Final = b"version https://git-lfs"
_FILE_MODES: Final = frozenset({"100644", "100755"})


class _Entry(Struct, frozen=True):
    """A file of the revision: its hash, its size and its path below the folder."""

    hash: str
    size: int
    path: PurePosixPath


def is_git_folder(name: str) -> bool:
    """Whether a name is that of a folder at a git revision, and of nothing on the disk."""
    revision, colon, _ = name.partition(":")
    return bool(colon) and len(revision) > 1 and not Path(name).exists()


def folder_of_git(name: str) -> Path:
    """Return a folder with the files of ``REVISION:FOLDER``, as long as ``removed_at_the_end`` runs.

    Raises :class:`InputError`.
    """
    revision, _, folder = name.partition(":")
    beside = _nearest(Path(folder or "."))
    commit = _git(name, beside, "rev-parse", "--verify", "--quiet", "--end-of-options", f"{revision}^{{commit}}")
    top = Path(os.fsdecode(_git(name, beside, "rev-parse", "--show-toplevel").rstrip(b"\n")))
    below = Path(os.path.abspath(folder or ".")).resolve().relative_to(top.resolve()).as_posix()  # noqa: PTH100
    where = "" if below == "." else f"{below}/"
    entries = _entries(
        name, _git(name, top, "ls-tree", "-r", "-l", "-z", commit.decode().strip(), "--", where or "."), where
    )
    if not entries:
        raise InputError.at(name, "holds no file", "the folder is not in that revision", "see: git ls-tree REVISION")
    return _written(name, top, entries, PurePosixPath(below).name or top.name)


def _nearest(path: Path) -> Path:
    """Return the nearest folder that is there: the one named may be gone since."""
    path = path.absolute()
    return next(folder for folder in (path, *path.parents) if folder.is_dir())


def _entries(name: str, listed: bytes, where: str) -> list[_Entry]:
    """Return the files listed; links and other repositories are none, since they lead out of the folder."""
    found = []
    for line in filter(None, listed.split(b"\0")):
        about, _, path = line.partition(b"\t")
        mode, _, digest, size = about.decode().split()
        inner = PurePosixPath(os.fsdecode(path).removeprefix(where))
        if mode in _FILE_MODES and not inner.is_absolute() and not any(p.startswith(".") for p in inner.parts):
            found.append(_Entry(digest, int(size), inner))
    if len(found) > _MOST_FILES or sum(entry.size for entry in found) > _LARGEST:
        megabytes = sum(entry.size for entry in found) / 1e6
        raise InputError.at(
            name, f"holds {len(found)} files of {megabytes:,.0f} MB", "a board has fewer", "name the board's own folder"
        )
    return found


def _written(name: str, top: Path, entries: Sequence[_Entry], folder_name: str) -> Path:
    asked = "".join(f"{entry.hash}\n" for entry in entries).encode()
    answer = _git(name, top, "cat-file", "--batch", given=asked)
    root = Path(tempfile.mkdtemp(prefix="capcheck-"))
    folder, at = root / folder_name, 0
    # What is there is taken away with what archives held.
    unpacked_from().update({str(folder): name, str(root): name})
    for entry in entries:
        end = answer.find(b"\n", at)
        if answer[at:end] != f"{entry.hash} blob {entry.size}".encode():
            raise InputError.at(f"{name}/{entry.path}", "is not in the repository", "it was not fetched", "git fetch")
        at = end + 1
        data = answer[at : at + entry.size]
        at += entry.size + 1
        if data.startswith(_POINTER):
            raise InputError.at(
                f"{name}/{entry.path}",
                "is a pointer to a large file that git does not hold itself",
                remedy="compare with a folder in which the file is whole",
            )
        path = folder.joinpath(*entry.path.parts)
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(data)
    return folder


def _git(name: str, folder: Path, *arguments: str, given: bytes = b"") -> bytes:
    """Return what git answers. Raises :class:`InputError`."""
    # What a repository lacks would be fetched by a program that its own configuration names: no way there is allowed.
    safe = {
        **os.environ,
        "GIT_ALLOW_PROTOCOL": "none",
        "GIT_NO_LAZY_FETCH": "1",
        "GIT_OPTIONAL_LOCKS": "0",
        "GIT_TERMINAL_PROMPT": "0",
        "LC_ALL": "C",
    }
    command = ["git", "--no-pager", "-c", "core.fsmonitor=false", "-C", str(folder), *arguments]
    try:
        ran = subprocess.run(command, input=given, capture_output=True, env=safe, timeout=_SECONDS, check=False)  # noqa: S603
    except FileNotFoundError:
        raise InputError.at(name, "is a git revision, and git is not installed", remedy="install git") from None
    except subprocess.TimeoutExpired:
        raise InputError.at(name, f"git did not answer within {_SECONDS} seconds") from None
    if ran.returncode:
        told = ran.stderr.decode(errors="replace").strip().splitlines()
        raise InputError.at(
            name,
            "is neither a file, a folder nor a folder at a git revision",
            told[0] if told else "git knows no such revision",
            "write REVISION:FOLDER, such as HEAD~1:boards/controller",
        )
    return ran.stdout
