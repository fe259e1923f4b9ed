"""What a command is, and the arguments that several share."""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Final

from msgspec import Struct

if TYPE_CHECKING:
    from capcheck.model import Note
    from capcheck.shop import Choice, Configuration, Settings
    from capcheck.survey import Unread


_MOST_JOBS: Final = 256
_MOST_TOLD: Final = 5
_LONGEST_LINE: Final = 2_000
_UNUSABLE: Final = 2


class Command(Struct, frozen=True):
    """A command of the program: *run* returns the exit code."""

    name: str
    help: str
    arguments: Callable[[argparse.ArgumentParser], None]
    run: Callable[[argparse.Namespace], int]


class Once(argparse.Action):
    """An option that counts once: a second value would silently take the place of the first."""

    def __call__(
        self, _: argparse.ArgumentParser, namespace: argparse.Namespace, values: object, __: str | None = None
    ) -> None:
        """Keep the value, or refuse a second one."""
        if getattr(namespace, self.dest, None) is not None:
            raise argparse.ArgumentError(self, "is given twice, and one counts here")
        setattr(namespace, self.dest, values)


class OneOrSeveral(argparse.Action):
    """An option whose value is a text where it is given once, and a list of texts where it is given several times."""

    def __call__(
        self, _: argparse.ArgumentParser, namespace: argparse.Namespace, values: object, __: str | None = None
    ) -> None:
        """Keep the value, behind those before it."""
        before = getattr(namespace, self.dest, None)
        every = [*(before if isinstance(before, list) else [before]), values]
        setattr(namespace, self.dest, values if before is None else every)


def add_inputs(parser: argparse.ArgumentParser) -> None:
    """Add the arguments that name a board."""
    parser.add_argument("path", nargs="?", metavar="PATH", help="a folder with the board's files, or its board.toml")
    add_files(parser)


def add_files(parser: argparse.ArgumentParser) -> None:
    """Add the arguments that name single files of a board."""
    parser.add_argument(
        "--placements", action="append", default=[], metavar="FILE", help="placement file; once for each side"
    )
    parser.add_argument("--bom", metavar="FILE", help="bill of materials")
    parser.add_argument("--outline", metavar="FILE", help="outline of the board, DXF or Gerber")
    parser.add_argument(
        "--library", action="append", default=[], metavar="FILE", help="package library of the shop, CSV or XLSX"
    )


def add_store(parser: argparse.ArgumentParser) -> None:
    """Add the arguments that name the shop's store and the customer."""
    parser.add_argument(
        "--store", metavar="STORE", help="the shop's store of parts: a file, or a server such as postgresql://host/name"
    )
    parser.add_argument("--customer", metavar="NAME", default="", help="whose board it is, for what the store keeps")


def add_config(parser: argparse.ArgumentParser) -> None:
    """Add the arguments that name the configuration."""
    parser.add_argument(
        "--config",
        metavar="FILE",
        help="configuration; default: the nearest capcheck.toml or pyproject.toml in the working directory or above it,"
        " outside the board's folder; Python that it names runs if it is named here, or trusted (capcheck trust)",
    )
    parser.add_argument("--no-config", action="store_true", help="use no configuration")


def positive(text: str) -> float:
    """Return a number above zero; argparse turns the error into one line and exit code 2."""
    value = float(text)
    if not 0 < value < float("inf"):
        raise argparse.ArgumentTypeError(f"{text} is not a number above zero")
    return value


def share(text: str) -> float:
    """Return a share above zero, one at most; argparse turns the error into one line and exit code 2."""
    value = positive(text)
    if value > 1:
        raise argparse.ArgumentTypeError(f"{text} is more than the whole; write a share, such as 0.85")
    return value


def tell(note: Note) -> None:
    """Say on standard error what was passed over, with its place."""
    from capcheck.lexicon import sentence
    from capcheck.values import inert_lines

    place = "" if note.place is None else f"{note.place}: "
    sys.stderr.write(f"{inert_lines(place + sentence(note.said))}\n")


def none_read(unread: Sequence[Unread]) -> int:
    """Say on standard error why none of several boards could be read; return the exit code of that."""
    from capcheck.values import cut, inert_lines

    for one in unread[:_MOST_TOLD]:
        problem = cut(str(one.error.problems[0]), _LONGEST_LINE)
        sys.stderr.write(f"not read: {inert_lines(problem)}\n")
    if len(unread) > _MOST_TOLD:
        sys.stderr.write(f"and {len(unread) - _MOST_TOLD} more\n")
    return _UNUSABLE


def add_jobs(parser: argparse.ArgumentParser) -> None:
    """Add the choice of how many boards are looked at at once."""
    parser.add_argument(
        "--jobs",
        type=_jobs,
        default=_processors(),
        metavar="N",
        help="processes that run in parallel; default: one for each processor",
    )


def add_keep_results(parser: argparse.ArgumentParser) -> None:
    """Add the folder that a run which was stopped goes on from."""
    parser.add_argument(
        "--keep",
        metavar="FOLDER",
        type=Path,
        help="keep the result of each board here, and take those of boards for which nothing changed",
    )


@contextmanager
def goes_on(keep: Path | None) -> Iterator[None]:
    """Say on standard error, where the work is interrupted, what was kept of it and how it goes on."""
    from capcheck.values import inert_lines

    try:
        yield
    except KeyboardInterrupt:
        if keep is None:
            text = "interrupted: nothing is kept; with --keep FOLDER the same command goes on where it was stopped"
        else:
            text = f"interrupted: each board that was done is kept in {keep}; the same command goes on from there"
        sys.stderr.write(f"{inert_lines(text)}\n")
        raise


def add_cluster(parser: argparse.ArgumentParser) -> None:
    """Add the choice of other machines."""
    parser.add_argument(
        "--cluster",
        metavar="ADDRESS",
        help="the scheduler of a dask cluster whose workers look at the boards, instead of processes here:"
        " tcp://host:8786",
    )


def _jobs(text: str) -> int:
    """Return a number of processes; argparse turns the error into one line and exit code 2."""
    if not text.isdecimal() or not 1 <= int(text) <= _MOST_JOBS:
        raise argparse.ArgumentTypeError(f"{text} is not a number of processes from 1 to {_MOST_JOBS}")
    return int(text)


def _processors() -> int:
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def configuration_for(arguments: argparse.Namespace) -> Configuration:
    """Return the configuration that the arguments name, else the one in force for the board that they name."""
    from capcheck.shop import Configuration, configuration_of

    return Configuration() if arguments.no_config else configuration_of(_board_of(arguments), arguments.config)


def _board_of(arguments: argparse.Namespace) -> list[str]:
    """Return what names the board on the command line; nothing for a command that has none."""
    given = vars(arguments)
    single = (given.get(name) for name in ("path", "board_folder", "bom", "outline"))
    # An archive, and what a pattern names, may lie among the shop's own files.
    paths = [path for path in given.get("paths", ()) if path.endswith(".toml") or os.path.isdir(path)]  # noqa: PTH112
    return [*paths, *given.get("placements", ()), *(path for path in single if path)]


def settings_of(
    arguments: argparse.Namespace,
    configuration: Configuration,
    board: str | Path | None = None,
    *,
    place: str | Path | None = None,
) -> Settings:
    """Return what holds for a board by the configuration and the arguments, which go before it.

    What a command has no argument for is as the configuration says. *place* is where the board's files come from,
    where *board* is a copy of them.
    """
    from capcheck.shop import settle

    given = vars(arguments)
    line = given.get("line")
    files = [*given.get("placements", ()), given.get("bom"), given.get("outline")]
    if place is None and board is None:
        place = next((file for file in files if file), None)
    # No line is asked for where a command has none, or takes several.
    without = "line" not in given or (isinstance(line, list) and bool(line))
    return settle(
        configuration,
        board=board,
        line=line if isinstance(line, str) else None,
        machines=bool(given.get("machine")) or without,
        libraries=given.get("library", ()),
        store=given.get("store"),
        customer=given.get("customer", ""),
        rules=given.get("rules", ()),
        select=names(given.get("select", "")),
        ignore=names(given.get("ignore", "")),
        strict=given.get("strict", False),
        units=given.get("units"),
        limits=limits_of(arguments),
        place=place,
    )


def choice_in_force(arguments: argparse.Namespace, rules: Sequence[Path] = ()) -> Choice:
    """Return which rules are answered, and how, where the command runs: it is of no board and of no line.

    *rules* are rule files and folders beside those of ``--rules``. Says which configurations do not hold.
    """
    from capcheck.shop import settle

    configuration = configuration_for(arguments)
    warn_of_not_obeyed(configuration)
    given = vars(arguments)
    return settle(
        configuration,
        machines=True,
        rules=[*given.get("rules", ()), *rules],
        select=names(given.get("select", "")),
        ignore=names(given.get("ignore", "")),
        limits=limits_of(arguments),
    ).choice


def add_settling(parser: argparse.ArgumentParser) -> None:
    """Add the arguments that say what holds, for a command that reads boards and answers no rules of its own choice."""
    add_config(parser)
    add_store(parser)
    add_limit(parser)


def limits_of(arguments: argparse.Namespace) -> dict[str, dict[str, str | float]]:
    """Return the limits of this run, written RULE.NAME=VALUE. Raises :class:`~capcheck.values.InputError`."""
    from capcheck.values import InputError

    found: dict[str, dict[str, str | float]] = {}
    for text in vars(arguments).get("limit", ()):
        name, equals, value = (part.strip() for part in text.partition("="))
        rule, dot, limit = name.rpartition(".")
        if not (equals and dot and rule and limit and value):
            raise InputError.at(
                "--limit", f'"{text}" changes no limit', remedy='write it like --limit "fiducial-count.least=3"'
            )
        try:
            found.setdefault(rule, {})[limit] = float(value)
        except ValueError:
            found.setdefault(rule, {})[limit] = value
    return found


def warn_of_not_obeyed(configuration: Configuration) -> None:
    """Say on standard error which configurations were found and do not hold."""
    from capcheck.lexicon import sentence
    from capcheck.values import visible

    for other in configuration.not_obeyed:
        sys.stderr.write(f"{visible(sentence(other.said))}\n")


def add_rules(parser: argparse.ArgumentParser) -> None:
    """Add the arguments that choose rules."""
    parser.add_argument("--rules", action="append", default=[], type=Path, metavar="DIR", help="further rule files")
    add_limit(parser)
    parser.add_argument("--select", default="", metavar="IDS", help="answer only these rules or tags, with commas")
    parser.add_argument("--ignore", default="", metavar="IDS", help="leave out these rules or tags, with commas")


def add_limit(parser: argparse.ArgumentParser) -> None:
    """Add the argument that changes limits for one run."""
    parser.add_argument(
        "--limit",
        action="append",
        default=[],
        metavar="RULE.NAME=VALUE",
        help='change a limit for this run: "fiducial-count.least=3"',
    )


def names(text: str) -> tuple[str, ...]:
    """Return the names of a list with commas."""
    return tuple(part.strip() for part in text.split(",") if part.strip())
