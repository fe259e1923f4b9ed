"""The command line: arguments and exit codes only; every command calls the public interface.

Exit codes: 0 nothing failed, 1 something failed (with --strict: or warned), 2 the input or the usage is wrong.
Standard output carries the report, standard error everything else.
"""

from __future__ import annotations

import argparse
import errno
import os
import sys
from collections.abc import Sequence
from typing import Final, NoReturn

from capcheck import __version__

INTERRUPTED: Final = 130


def build_parser(chosen: str | None = None) -> argparse.ArgumentParser:
    """Return the parser of all commands, importing nothing heavy; with *chosen*, that command alone has arguments."""
    from capcheck import commands

    parser = argparse.ArgumentParser(
        prog="capcheck",
        description="Can this line of placement machines build this board? Pass, warn or fail, with the reasons.",
        epilog="A nominal check: machine specification, process qualification and first-article inspection decide.",
    )
    parser.add_argument("--version", action="version", version=f"capcheck {__version__}")
    subparsers = parser.add_subparsers(dest="command", metavar="COMMAND", required=True)
    for command in commands.COMMANDS:
        added = subparsers.add_parser(command.name, help=command.help, description=command.help)
        if chosen in (None, command.name):
            command.arguments(added)
        added.set_defaults(run=command.run)
    return parser


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command and return its exit code."""
    arguments = list(sys.argv[1:] if argv is None else argv)
    if arguments == ["--version"]:  # the commonest call of a hook: not even the parser is built
        sys.stdout.write(f"capcheck {__version__}\n")
        return 0
    try:
        parsed = build_parser(next((a for a in arguments if not a.startswith("-")), None)).parse_args(arguments)
    except SystemExit as stop:
        return stop.code if isinstance(stop.code, int) else 2
    return _guarded(parsed)


def run() -> NoReturn:
    """Run the command of the process and leave at once: freeing what ends anyway would take a fifth of a short run."""
    code = 2
    try:
        code = main()
        sys.stdout.flush()
    except BrokenPipeError:
        pass  # the reader has gone, and misses nothing
    except OSError as error:
        if error.errno not in {errno.ENOSPC, errno.EIO, errno.EDQUOT}:
            raise
        sys.stderr.write(f"standard output cannot be written: {error.strerror}\n")
        code = 2
    sys.stderr.flush()
    os._exit(code)


def _guarded(parsed: argparse.Namespace) -> int:
    import gc

    from capcheck.values import InputError

    # No plugin of pydantic is used, and looking for some reads the metadata of every installed package.
    os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")
    # A command lives for seconds and makes hardly any cycles: collecting as often as a server does costs a tenth.
    gc.set_threshold(1_000_000, 50, 50)
    try:
        code: int = parsed.run(parsed)
        sys.stdout.flush()
    except InputError as error:
        for problem in error.problems:
            sys.stderr.write(f"{problem}\n")
        return 2
    except BrokenPipeError:
        # The reader has gone: nothing more can be said, and Python must not try to flush at exit.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 1
    except KeyboardInterrupt:
        return INTERRUPTED
    return code
