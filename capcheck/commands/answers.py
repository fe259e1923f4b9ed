"""``answers``: a list of questions as it comes back filled in: shown, and with ``--write`` written where it belongs.

Exit codes: 0 every answer is understood, 1 some are doubted or refused, 2 the input or the usage is wrong.
"""

from __future__ import annotations

import argparse
import datetime as dt
import os
import shutil
import tempfile
from collections.abc import Iterable, Mapping
from contextlib import ExitStack
from pathlib import Path
from typing import TYPE_CHECKING, Final

from capcheck.commands.command import (
    Command,
    Once,
    add_config,
    add_rules,
    add_store,
    configuration_for,
    settings_of,
    warn_of_not_obeyed,
)
from capcheck.commands.output import add_format, add_output, deliver_json, deliver_text
from capcheck.commands.written_file import refuse_output, write_file
from capcheck.values import InputError

if TYPE_CHECKING:
    from capcheck.answers import Answering, Destinations, Keeper, Planned
    from capcheck.checking import Report
    from capcheck.machines import Line
    from capcheck.shop import GivenAnswer, Settings

_BOARD_FILE: Final = "board.toml"
_HOLDS: Final = dt.timedelta(days=365)
_LARGEST: Final = 200_000_000
"""Bytes of a board's folder that is copied to try the answers on it."""


def _arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "file",
        type=Path,
        metavar="FILE",
        help="the list as it came back: XLSX, ODS, XLS, CSV, Markdown or the text of a mail",
    )
    parser.add_argument(
        "--board", dest="path", metavar="PATH", help="the board's folder or board.toml; default: the configuration's"
    )
    parser.add_argument("--by", default="", metavar="NAME", help="who answered; must be given to write")
    parser.add_argument("--on", metavar="DATE", help="day of the answer, like 2027-03-31; default: today")
    parser.add_argument("--write", action="store_true", help="write what is shown; without it nothing is written")
    parser.add_argument(
        "--take", action="append", default=[], metavar="KEY", help="take a doubtful answer all the same, by its key"
    )
    parser.add_argument(
        "--into", type=Path, metavar="FILE", help="write answers about the board here, instead of its board.toml"
    )
    parser.add_argument(
        "--until", metavar="DATE", help="last day of waivers for what the customer accepts; default: a year from now"
    )
    parser.add_argument("--line", action=Once, metavar="FILE", help="line file, or a name of the configuration")
    parser.add_argument(
        "--machine", action="append", default=[], metavar="FILE", help="machine profile, instead of a line"
    )
    parser.add_argument(
        "--library", action="append", default=[], metavar="FILE", help="package library that takes the figures, CSV"
    )
    add_store(parser)
    add_rules(parser)
    add_config(parser)
    parser.set_defaults(strict=False)
    add_format(parser)
    add_output(parser)


def _answers(arguments: argparse.Namespace) -> int:
    from capcheck.answers import (
        Answering,
        State,
        answers_as_data,
        answers_as_text,
        asked_now,
        planned,
        read_filled_list,
        read_filled_text,
        settle_answers,
    )
    from capcheck.checking import check_as_settled, devices_of
    from capcheck.commands.progress import Working

    today = dt.date.today()  # noqa: DTZ011  the shop's own calendar day
    on = _day("--on", arguments.on) or today
    until = _day("--until", arguments.until) or on + _HOLDS
    if arguments.write and not arguments.by.strip():
        raise InputError.at(
            "--write", "names nobody who answered", "each figure is kept with who stated it", 'add --by "NAME"'
        )
    answering = Answering(arguments.by.strip() or "the customer", on, frozenset(arguments.take))
    configuration = configuration_for(arguments)
    warn_of_not_obeyed(configuration)
    settings = settings_of(arguments, configuration, arguments.path)
    line = devices_of(settings, arguments.machine)
    seen = _contents(_may_be_written(arguments, settings))
    with Working("reading and checking"):
        report = check_as_settled(_with_libraries_there(settings), line)
        before = _answered(settings, report.board.name)
        now = asked_now(report)
        filled = read_filled_text(arguments.file, report) or read_filled_list(
            arguments.file, now, {asked.version for asked in now.values()}
        )
        destinations = _destinations(arguments, settings, answering, report)
        plan = planned(
            settle_answers(filled, report, answering, before),
            destinations,
            answering,
            report.board.name,
            until=until,
            before=before,
        )
        after = _tried(plan, destinations, settings, line)
    if arguments.write:
        _write(plan, [arguments.file, *(file.path for file in report.inputs)], destinations, seen)
    inputs = [arguments.file, *(file.path for file in report.inputs)]
    if arguments.format == "json":
        counts = {"before": _counts(report), "after": None if after is None else _counts(after)}
        kept = any(keeper.written() for keeper in _keepers(destinations))
        written = bool(arguments.write and (plan.files or kept))
        deliver_json(
            {**answers_as_data(plan, filled.without_key), "counts": counts, "written": written},
            arguments.output,
            inputs,
        )
    else:
        name = destinations.keeper.name if destinations.keeper is not None else "library"
        lines = answers_as_text(plan, name, destinations.board, filled.without_key)
        deliver_text(
            "".join(
                f"{text}\n" for text in [*lines, *_end(report, after, plan, destinations, written=arguments.write)]
            ),
            arguments.output,
            inputs,
        )
    refused = {State.DOUBTED, State.CHANGED, State.UNKNOWN}
    return 1 if any(one.settled.state in refused for one in plan.told) else 0


def _answered(settings: Settings, board: str) -> list[GivenAnswer]:
    """Return what was answered so far: of this board, where the store keeps it, else all that the file holds."""
    from capcheck.shop import answers_given, read_answers

    if settings.store is not None:
        return answers_given(settings, board)
    return read_answers(settings.answers) if settings.answers is not None else []


def _day(option: str, text: str | None) -> dt.date | None:
    try:
        return dt.date.fromisoformat(text) if text else None
    except ValueError:
        raise InputError.at(option, f'"{text}" is not a day', remedy="write it like 2027-03-31") from None


def _with_libraries_there(settings: Settings) -> Settings:
    """Return the settings without a library that the answers are only to begin."""
    from msgspec.structs import replace

    return replace(settings, libraries=[path for path in settings.libraries if path.exists()])


def _destinations(
    arguments: argparse.Namespace, settings: Settings, answering: Answering, report: Report
) -> Destinations:
    from capcheck.answers import Destinations, LibraryKeeper, StoreKeeper, questions_to_keep

    library = next(iter(settings.libraries), None)
    board, own = settings.board, None
    if board is not None and board.exists():
        own = board / _BOARD_FILE if board.is_dir() else board if board.suffix == ".toml" else None
    keeper: Keeper | None = None if library is None else LibraryKeeper(library)
    store = None
    if settings.store is not None:
        store = StoreKeeper(
            settings.store,
            by=answering.by,
            on=answering.on,
            board=report.board.name,
            customer=settings.customer,
            where=arguments.file.name,
            asked=questions_to_keep(report),
        )
        keeper = keeper if arguments.library else store
    into = arguments.into or settings.board_file
    layer = ""
    if into is not None and into != settings.board_file and own is not None:
        layer = Path(os.path.relpath(own.parent.resolve(), settings.configuration.folder.resolve())).as_posix()
    return Destinations(
        keeper, into or own, settings.configuration, settings.answers, settings.board_file or own, store, layer
    )


def _may_be_written(arguments: argparse.Namespace, settings: Settings) -> list[Path]:
    """Return the files that answers may go to."""
    board = settings.board
    own = None if board is None else board if board.suffix == ".toml" else board / _BOARD_FILE
    named = [arguments.into, settings.board_file, own, settings.answers, settings.configuration.path]
    return [*(path for path in named if path is not None), *settings.libraries]


def _contents(paths: Iterable[Path]) -> dict[Path, bytes | None]:
    """Return what stands in files by their real paths; None where one is not there."""
    return {path.resolve(): path.read_bytes() if path.is_file() else None for path in paths}


def _write(
    plan: Planned, inputs: list[Path | str], destinations: Destinations, seen: Mapping[Path, bytes | None]
) -> None:
    """Write the files, each whole; what must not be written is said before the first is.

    What stood in them when the board was read is *seen*: what another desk wrote there since would be lost.
    """
    if "configuration" in plan.lacking:
        raise InputError.at(
            "--write",
            "no configuration is in force, which would hold waivers and what was answered",
            "the next list would ask all of it again",
            "make one with capcheck init, or name it: --config FILE",
        )
    own = {path.resolve() for path in plan.files}
    others = [path for path in inputs if Path(path).resolve() not in own]
    for path in plan.files:
        refuse_output(path, others)
    if changed := [path for path, now in _contents(plan.files).items() if now != seen.get(path, now)]:
        raise InputError.at(
            str(changed[0]),
            "was changed while the answers were read",
            "what somebody else wrote there would be lost",
            "nothing was written; run this again",
        )
    # What was answered comes last, in a file or the store: where writing breaks off, the list can be read again.
    with ExitStack() as stack:
        for keeper in _keepers(destinations):
            stack.enter_context(keeper.committing())
        for path in sorted(plan.files, key=lambda path: path == destinations.answers):
            write_file(path, plan.files[path], others)


def _keepers(destinations: Destinations) -> list[Keeper]:
    """Return what keeps figures and answers, each once."""
    both = [destinations.keeper, destinations.store]
    return list({id(keeper): keeper for keeper in both if keeper is not None}.values())


def _tried(plan: Planned, destinations: Destinations, settings: Settings, line: Line | None) -> Report | None:
    """Return the report on a copy of the board with what would be written; None where no copy can be made."""
    from msgspec.structs import replace

    from capcheck.checking import check_as_settled
    from capcheck.shop import read_configuration

    board = settings.board
    if not (plan.files or plan.kept) or board is None:
        return None
    folder = board if board.is_dir() else board.parent
    if not folder.is_dir() or sum(f.stat().st_size for f in folder.rglob("*") if f.is_file()) > _LARGEST:
        return None
    with tempfile.TemporaryDirectory(prefix="capcheck-") as name:
        copy = Path(name) / folder.resolve().name
        shutil.copytree(folder, copy, symlinks=True)
        placed = _placed(plan.files, destinations, Path(name), copy)
        libraries = [placed.get(path, path) for path in settings.libraries if path in placed or path.exists()]
        taken = None if destinations.keeper is None else destinations.keeper.trial(Path(name))
        libraries = [*([] if taken is None else [taken]), *libraries]
        configuration = settings.configuration
        waivers = settings.waivers
        if configuration.path in placed:
            changed = read_configuration(placed[configuration.path])
            held = replace(configuration, values=changed.values, whole=None, text=changed.text)
            configuration = held.for_board(board, settings.customer)
            waivers = configuration.values.waiver
        tried = replace(
            settings,
            board=copy if board.is_dir() else copy / board.name,
            libraries=libraries,
            waivers=waivers,
            configuration=configuration,
            board_file=None if destinations.board in placed else settings.board_file,
        )
        return check_as_settled(tried, line, answers=plan.kept)


def _placed(files: Mapping[Path, bytes], destinations: Destinations, folder: Path, copy: Path) -> dict[Path, Path]:
    """Write each file into a temporary folder, board.toml into the copy of the board; return where each stands."""
    placed = {}
    for number, (path, content) in enumerate(files.items()):
        place = copy / _BOARD_FILE if path == destinations.board else folder / str(number) / path.name
        place.parent.mkdir(exist_ok=True)
        place.write_bytes(content)
        placed[path] = place
    return placed


def _counts(report: Report) -> dict[str, int]:
    from capcheck.report import questions_by_key

    totals = report.totals
    counts = {"undecided": totals.undecided + totals.waiting, "fail": totals.failed, "waived": totals.waived}
    return counts | {"questions": len(questions_by_key(report))}


def _end(
    report: Report, after: Report | None, plan: Planned, destinations: Destinations, *, written: bool
) -> list[str]:
    now = _counts(report)
    lines = []
    if after is not None:
        then = _counts(after)
        when = "after them" if written else "with these answers"
        lines.append(
            f"undecided checks: {now['undecided']} before, {then['undecided']} {when};"
            f" questions: {now['questions']} before, {then['questions']} {when}"
        )
    places = [*map(str, plan.files), *(told for keeper in _keepers(destinations) if (told := keeper.written()))]
    if written:
        lines += [f"written: {place}" for place in places] or ["nothing to write"]
    else:
        lines.append("nothing was written; to write it: --write" if places else "nothing to write")
    return lines


COMMANDS: Final = (
    Command(
        "answers",
        "read a filled-in list of questions: what each answer changes; with --write, make the changes",
        _arguments,
        _answers,
    ),
)
