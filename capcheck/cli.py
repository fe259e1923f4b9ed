"""The command line: arguments and exit codes only; every command calls the public interface.

Exit codes: 0 nothing failed, 1 something failed (with --strict: or warned), 2 the input or the usage is wrong, or
anything that was not foreseen happened. Standard output carries the report, standard error everything else.
"""

from __future__ import annotations

import argparse
import contextlib
import io
import os
import sys
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Final, NoReturn

from capcheck import __version__

if TYPE_CHECKING:
    from _typeshed import SupportsWrite

    from capcheck.values import InputError

UNUSABLE: Final = 2
INTERRUPTED: Final = 130
_MOST_PROBLEMS: Final = 20
_ended_by: int | None = None
"""The signal that asked the command to end."""
_LONGEST_LINE: Final = 2_000


class _Parser(argparse.ArgumentParser):
    """Says what is wrong with the arguments; what a terminal would obey in them is shown."""

    _in_two_passes = False

    def parse_known_args(  # type: ignore[override]
        self, args: Sequence[str] | None = None, namespace: argparse.Namespace | None = None
    ) -> tuple[argparse.Namespace, list[str]]:
        """Parse the arguments of a command, its options before, between and behind what they are about.

        Left to itself argparse takes an argument that may be left out for left out as soon as an option stands before
        it. Behind ``--`` nothing is an option.
        """
        if args is None or self._subparsers is not None or self._in_two_passes:
            return super().parse_known_args(args, namespace)
        args, names = _without_dashes(list(args))
        self._in_two_passes = True
        try:
            found, extras = self.parse_known_intermixed_args(args, namespace)
        finally:
            self._in_two_passes = False
        for key, value in vars(found).items() if names else ():
            setattr(found, key, _with_dashes(value, names))
        return found, [names.get(extra, extra) for extra in extras]

    def error(self, message: str) -> NoReturn:
        from capcheck.values import visible

        if message.startswith("unrecognized arguments"):
            message += "; a name that begins with a hyphen stands behind --"
        super().error(visible(message))

    def format_help(self) -> str:
        """Return the help of the program or of a command, with the cautions of all papers below it."""
        from capcheck.lexicon import cautions

        self.epilog = cautions()
        return super().format_help()

    def print_help(self, file: SupportsWrite[str] | None = None) -> None:
        """Print the help; unlike argparse, raise OSError where it cannot be written."""
        stream = sys.stdout if file is None else file
        stream.write(self.format_help())
        sys.stdout.flush()


def _without_dashes(args: list[str]) -> tuple[list[str], dict[str, str]]:
    """Return the arguments without ``--``, and what stands for those behind it that look like options."""
    if "--" not in args:
        return args, {}
    at = args.index("--")
    names = {f"\0{number}": name for number, name in enumerate(args[at + 1 :]) if name.startswith("-")}
    behind = [f"\0{number}" if name.startswith("-") else name for number, name in enumerate(args[at + 1 :])]
    return [*args[:at], *behind], names


def _with_dashes(value: object, names: Mapping[str, str]) -> object:
    """Return what was parsed, with the names themselves in place of what stood for them."""
    if isinstance(value, list):
        return [_with_dashes(one, names) for one in value]
    if isinstance(value, Path) and str(value) in names:
        return Path(names[str(value)])
    return names.get(value, value) if isinstance(value, str) else value


def build_parser(chosen: str | None = None) -> argparse.ArgumentParser:
    """Return the parser of all commands, importing nothing heavy; of *chosen* alone, where that is a command."""
    from capcheck.commands import commands

    parser = _Parser(
        prog="capcheck",
        description="Can this line of placement machines build this board? Pass, warn or fail, with the reasons.",
    )
    parser.add_argument("--version", action="version", version=f"capcheck {__version__}")
    subparsers = parser.add_subparsers(dest="command", metavar="COMMAND", required=True)
    # Each parser asks the file system for translations: those of the other commands would take as long as a rule file.
    for command in commands(chosen):
        added = subparsers.add_parser(command.name, help=command.help, description=command.help)
        command.arguments(added)
        added.set_defaults(run=command.run, of_all=build_parser)
    return parser


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command and return its exit code; nothing is raised."""
    arguments = list(sys.argv[1:] if argv is None else argv)
    try:
        if arguments == ["--version"]:  # the commonest call of a hook: not even the parser is built
            sys.stdout.write(f"capcheck {__version__}\n")
            return 0
        return _guarded(build_parser(arguments[0] if arguments else None).parse_args(arguments))
    except SystemExit as stop:  # of the parser: an error in the arguments, or help that was asked for
        return stop.code if isinstance(stop.code, int) else UNUSABLE
    except KeyboardInterrupt:
        return INTERRUPTED if _ended_by is None else 128 + _ended_by
    except OSError as error:  # of the version or the help
        return _not_written(error)


def run() -> NoReturn:
    """Run the command of the process and leave at once: freeing what ends anyway would take a fifth of a short run."""
    code = INTERRUPTED
    with contextlib.suppress(KeyboardInterrupt):
        _prepare_streams()
        _end_as_if_interrupted()
        code = main()
        if code == 0 and not _flushed():
            code = UNUSABLE
    with contextlib.suppress(OSError):
        sys.stderr.flush()
    os._exit(code)


def _prepare_streams() -> None:
    """Make output UTF-8 whatever the locale, and give closed streams a place, so that no file takes their number."""
    import warnings

    for number, flags in ((0, os.O_RDONLY), (1, os.O_RDONLY), (2, os.O_WRONLY)):
        try:
            os.fstat(number)
        except OSError:
            os.open(os.devnull, flags)  # takes the lowest number; what is written to 1 is then an error, and told
    # Kept, for a stream that is collected closes its number.
    sys.stdout = sys.stdout or os.fdopen(1, "w", closefd=False)
    sys.stderr = sys.stderr or os.fdopen(2, "w", closefd=False)
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(encoding="utf-8", errors="backslashreplace")
    if not sys.warnoptions:
        warnings.simplefilter("ignore")  # of libraries, about their own insides


def _end_as_if_interrupted() -> None:
    """Have a request to end unwind what is in work, so that no half file is left; also where a terminal is closed."""
    import signal

    def end(number: int, _: object) -> None:
        global _ended_by  # noqa: PLW0603  a signal reaches nothing else
        _ended_by = number
        raise KeyboardInterrupt

    for name in ("SIGTERM", "SIGHUP"):
        number = getattr(signal, name, None)
        if number is not None and signal.getsignal(number) is signal.SIG_DFL:
            signal.signal(number, end)


def _flushed() -> bool:
    """Write out what is left of the report; return whether all of it arrived, and tell where it did not."""
    try:
        sys.stdout.flush()
    except OSError as error:
        _not_written(error)
        return False
    return True


def _not_written(error: OSError) -> int:
    """Say that the report did not arrive, unless its reader has gone and wants no words; return the exit code."""
    if not isinstance(error, BrokenPipeError):
        _complain(f"standard output cannot be written: {error.strerror}")
    return UNUSABLE


def _complain(text: str) -> None:
    with contextlib.suppress(OSError, ValueError):
        from capcheck.values import inert_lines

        sys.stderr.write(f"{inert_lines(text)}\n")


def _guarded(parsed: argparse.Namespace) -> int:
    import gc

    # No plugin of pydantic is used, and looking for some reads the metadata of every installed package.
    os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")
    # A command lives for seconds and makes hardly any cycles: collecting as often as a server does costs a tenth.
    gc.set_threshold(1_000_000, 50, 50)
    if vars(parsed).get("watch"):
        from capcheck.commands import run_at_each_change

        return run_at_each_change(lambda: _once(parsed), parsed)
    return _once(parsed)


def _once(parsed: argparse.Namespace) -> int:
    """Run a command; say what is wrong where it cannot be run, and return its exit code."""
    from capcheck.commands import refuse_outputs, refuse_without_library, settle_format
    from capcheck.values import InputError, unforeseen

    try:
        _expect_working_directory()
        settle_format(parsed)
        refuse_outputs(parsed)
        refuse_without_library(parsed)
        code: int = parsed.run(parsed)
    except InputError as error:
        return _told(error)
    except BrokenPipeError:
        return UNUSABLE
    except KeyboardInterrupt:
        raise
    except BaseException as error:  # noqa: BLE001  a shop's code and libraries may raise anything
        told = InputError(unforeseen(error, _in_work(parsed)))
        told.__cause__ = error
        return _told(told)
    return code if _flushed() else UNUSABLE


def _expect_working_directory() -> None:
    """Raise :class:`InputError` where the working directory is gone: every path would seem to be at fault."""
    from capcheck.values import InputError

    try:
        os.getcwd()  # noqa: PTH109 - pathlib is not loaded for the shortest runs
    except OSError as error:
        raise InputError.at(
            "the working directory",
            f"cannot be used: {error.strerror}",
            "it was deleted or moved, and paths begin there",
            "change to a folder that is there",
        ) from None


def _told(error: InputError) -> int:
    """Say what is wrong, and where in the program it was if that is asked for; return the exit code."""
    from capcheck.values import TRACEBACK, cut

    for problem in error.problems[:_MOST_PROBLEMS]:
        _complain(cut(str(problem), _LONGEST_LINE))
    if (more := len(error.problems) - _MOST_PROBLEMS) > 0:
        _complain(f"and {more:,} more of the kind")
    if os.environ.get(TRACEBACK, "0") not in {"", "0"}:
        import traceback

        _complain("".join(traceback.format_exception(error)))
    return UNUSABLE


def _in_work(parsed: argparse.Namespace) -> str:
    """Return what the command was at work on, as far as its arguments tell."""
    given = vars(parsed)
    named = [
        given.get("path"),
        *(name for key in ("paths", "boards", "placements", "files") for name in given.get(key) or ()),
    ]
    return next((str(name) for name in named if name), f"capcheck {parsed.command}")
