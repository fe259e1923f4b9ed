"""A process that has the program loaded and forks for each run that is asked for: what loading costs is paid once.

A run gets what a new process would have: working directory, environment, arguments, its own streams and its own exit
code. What happens before the first line of the program, such as how the interpreter finds it, no fork can show; tests
of that start a process of their own. ``tests/conftest.py`` is the asker.
"""

from __future__ import annotations

import contextlib
import gc
import io
import json
import os
import runpy
import sys
from pathlib import Path

FIXTURES = Path(__file__).resolve().parent.parent / "fixtures"


def load() -> None:
    """Have a check load what one loads: most of it is imported where it is needed."""
    from capcheck.cli import main

    file, line = FIXTURES / "irrigation-controller" / "placements.csv", FIXTURES / "lines" / "mixed.line.toml"
    with contextlib.redirect_stdout(io.StringIO()):
        code = main(["check", "--placements", str(file), "--line", str(line)])
    if code not in {0, 1}:
        sys.exit("the fork server cannot check the board that loads the program")
    gc.collect()
    gc.freeze()  # so that no fork walks what is loaded, which would copy it


def serve(requests: io.TextIOWrapper, replies: io.TextIOWrapper) -> dict[str, object] | None:
    """Answer each request with the exit code of a fork; in the fork, return what it is to run."""
    for line in requests:
        child = os.fork()
        if not child:
            return json.loads(line)
        replies.write(f"{os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])}\n")
        replies.flush()
    return None


def become(asked: dict[str, object]) -> None:
    """Run a module as ``python -m`` does."""
    os.chdir(asked["cwd"])
    os.environ.clear()
    os.environ.update(asked["environment"])
    for number, (file, flags) in enumerate(
        [(os.devnull, os.O_RDONLY), *((file, os.O_WRONLY | os.O_CREAT | os.O_TRUNC) for file in asked["streams"])]
    ):
        opened = os.open(file, flags, 0o600)
        os.dup2(opened, number)
        os.close(opened)
    sys.argv = [asked["module"], *asked["arguments"]]
    sys.path.insert(0, asked["cwd"])
    runpy.run_module(asked["module"], run_name="__main__", alter_sys=True)


if __name__ == "__main__":
    import pytest  # noqa: F401  loaded for the runs of pytest

    sys.path.remove(str(Path(__file__).resolve().parent))
    load()
    with os.fdopen(int(sys.argv[1])) as requests, os.fdopen(int(sys.argv[2]), "w") as replies:
        asked = serve(requests, replies)
    if asked is not None:
        become(asked)
