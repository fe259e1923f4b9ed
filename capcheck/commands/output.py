"""What a command puts out: the format is chosen, the text goes to the terminal or whole to a file."""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Final, Protocol

from capcheck.commands.written_file import identity, refuse_output, write_file
from capcheck.values import InputError, inert_lines

if TYPE_CHECKING:
    from capcheck.report import Line

_LISTS: Final = ("set_up_list", "hand_list", "quote")
_OUTPUTS: Final = ("output", *_LISTS, "profile")
_NOT_TEXT: Final = ("pdf", "xlsx", "questions-xlsx", "parquet")
_NEEDING: Final = ("pdf", "html", "htm", "quote-html", "xlsx", "questions-xlsx")
"""Formats, and endings of files that choose one, which need a library beyond the program's own."""
_ANY: Final = ".capcheck"
"""Stands for whatever file will be written into a folder."""


class StyledLines(Protocol):
    """Makes the lines of a text for a width; its lists are cut short unless asked for in full."""

    def __call__(self, *, width: int, full: bool) -> list[Line]:
        """Return the lines."""


def add_format(parser: argparse.ArgumentParser, formats: Sequence[str] = ("text", "json")) -> None:
    """Add the choice of a format; where none is chosen :func:`settle_format` sets it, the first by default."""
    many = len(formats) > _FEW_FORMATS
    parser.add_argument(
        "--format",
        choices=formats,
        # Choices in braces are one word to argparse, and many are wider than a terminal.
        metavar="FORMAT" if many else None,
        help=f"{', '.join(formats)}; " * many + f"default: what the ending of --output names, else {formats[0]}",
    )
    parser.set_defaults(formats=tuple(formats))


_FEW_FORMATS: Final = 6


def settle_format(arguments: argparse.Namespace) -> None:
    """Set the format of a command that writes one file at most: the chosen one, else what the file's ending names.

    What a command may write to several files is left to :func:`outputs_of`. Raises :class:`InputError` for an ending
    that names no format of the command.
    """
    given = vars(arguments)
    if "formats" not in given or arguments.format is not None or isinstance(given.get("output"), list):
        return
    formats: tuple[str, ...] = arguments.formats
    output: Path | None = given.get("output")
    arguments.format = formats[0] if output is None else _format_of(output, endings_of(formats), None, formats[0])


def endings_of(formats: Sequence[str]) -> dict[str, Sequence[str]]:
    """Return the endings of files of each of these formats; those that only their names choose are left out."""
    from capcheck.report import ENDINGS

    return {form: ENDINGS[form] for form in formats if form in ENDINGS}


def add_quiet(parser: argparse.ArgumentParser) -> None:
    """Add the choice to see on the screen only how it ended and what fails."""
    parser.add_argument(
        "--quiet",
        action="store_true",
        help="print only verdicts, what fails and the cautions; files are written in full",
    )


def is_brief(arguments: argparse.Namespace) -> bool:
    """Whether only the brief text goes to the screen, and there is no file for the whole."""
    return bool(arguments.quiet) and arguments.output is None


def refuse_quiet(arguments: argparse.Namespace) -> None:
    """Raise :class:`InputError` where less is asked for of a format that is whole or nothing."""
    if arguments.quiet and not arguments.output and arguments.format not in {None, "text"}:
        raise InputError.at(
            "--quiet", "is of the text, and another format is asked for", remedy="leave out one of them"
        )


def add_output(parser: argparse.ArgumentParser) -> None:
    """Add the choice of a file."""
    parser.add_argument("--output", metavar="FILE", type=Path, help="write to this file instead of standard output")


def add_full(parser: argparse.ArgumentParser, help_: str = "show everything, with no list cut short") -> None:
    """Add the choice to cut no list short."""
    parser.add_argument("--full", action="store_true", help=help_)


def refuse_outputs(arguments: argparse.Namespace) -> None:
    """Raise :class:`InputError` for a file to write that must not be written, before any work is done.

    Whatever else the arguments name is an input.
    """
    given = vars(arguments)
    outputs = [path for name in _OUTPUTS for path in _each(given.get(name)) if isinstance(path, Path)]
    others = [item for name, value in given.items() if name not in _OUTPUTS for item in _each(value)]
    for path in outputs:
        inside = isinstance(given["output"], list) and os.path.isdir(path)  # noqa: PTH112 - also of a name too long
        # An empty text names no file; taken for a path it would be the working directory.
        named = [item for item in others if isinstance(item, str | Path) and item != ""]
        refuse_output(path / _ANY if inside else path, named)
    if len(set(map(identity, outputs))) < len(outputs):
        raise InputError.at(str(outputs[0]), "is named for two outputs", remedy="name a file for each")


def refuse_without_library(arguments: argparse.Namespace) -> None:
    """Raise :class:`InputError` for a format that could not be delivered in the end, before any work is done.

    It needs a library that is missing, or is not text and would go to a terminal.
    """
    given = vars(arguments)
    if "formats" not in given:
        return
    files = [path for path in _each(given.get("output")) if isinstance(path, Path)]
    lists = [path for name in _LISTS if isinstance(path := given.get(name), Path)]
    chosen = arguments.format and len(files) == 1
    endings = {path.suffix.lower().removeprefix(".") for path in (*lists, *([] if chosen else files))}
    forms = {str(arguments.format or ""), *endings} & {*_NEEDING}
    if forms:
        from capcheck.report import require_library

        for form in sorted(forms):
            require_library(form)
    if arguments.format in _NOT_TEXT and not files and sys.stdout.isatty():
        raise InputError.at("--format", "is not text and would fill the terminal", remedy="name --output FILE")


def _each(value: object) -> list[object]:
    return value if isinstance(value, list) else [value]


def add_outputs(parser: argparse.ArgumentParser, more: str = "") -> None:
    """Add the choice of several files, each in the format that its ending names; *more* is said of them."""
    parser.add_argument(
        "--output",
        action="append",
        default=[],
        metavar="FILE",
        type=Path,
        help="write to this file instead of standard output; may be given several times, and its ending names the"
        f" format: report.html, report.json{more}",
    )


def outputs_of(
    arguments: argparse.Namespace, endings: Mapping[str, Sequence[str]], *, without_ending: str | None = None
) -> list[tuple[Path | None, str]]:
    """Return each file to write with its format, None for standard output.

    *endings* are those of files of each format, in the order in which an ending that several have names one. A format
    that was chosen holds for a single file; of several, and where none was chosen, each ending names its own.
    *without_ending* is the format of a name that has none. Raises :class:`InputError` for an ending that names none.
    """
    chosen: str | None = arguments.format
    if not arguments.output:
        return [(None, chosen or "text")]
    if chosen and len(arguments.output) == 1:
        return [(arguments.output[0], chosen)]
    return [(file, _format_of(file, endings, chosen, without_ending)) for file in arguments.output]


def _format_of(file: Path, endings: Mapping[str, Sequence[str]], chosen: str | None, without_ending: str | None) -> str:
    having = [form for form, ends in endings.items() if file.suffix.lower() in ends]
    if chosen in having:
        return chosen or ""
    otherwise = chosen or (without_ending if not file.suffix else None)
    if not having and otherwise is None:
        known = ", ".join(dict.fromkeys(end for ends in endings.values() for end in ends))
        raise InputError.at(
            str(file),
            "has an ending that names no format" if file.suffix else "has no ending, and that names the format",
            remedy=f"end it in one of {known}, or choose one with --format",
        )
    return having[0] if having else otherwise or ""


def deliver(
    content: str | bytes | Iterator[str], output: Path | None = None, inputs: Iterable[str | Path] = ()
) -> None:
    """Write a finished text or file, or a text in pieces, to *output*, whole or not at all, or to standard output.

    *output* is refused where it is one of the *inputs*.
    """
    if output is not None:
        write_file(output, content, inputs)
        return
    if isinstance(content, bytes) and sys.stdout.isatty():
        raise InputError.at("--format", "is not text and would fill the terminal", remedy="name --output FILE")
    with _to_standard_output():
        if isinstance(content, bytes):
            sys.stdout.buffer.write(content)
        else:
            sys.stdout.writelines([content] if isinstance(content, str) else content)


def show_now() -> None:
    """Let whoever reads along see what was written so far."""
    with _to_standard_output():
        sys.stdout.flush()


@contextmanager
def _to_standard_output() -> Iterator[None]:
    """Raise :class:`InputError` where standard output cannot be written, but for a reader that went away."""
    try:
        yield
    except BrokenPipeError:
        raise
    except OSError as error:
        raise InputError.at("standard output", f"cannot be written: {error.strerror or error}") from None


def deliver_text(text: str, output: Path | None = None, inputs: Iterable[str | Path] = ()) -> None:
    """Write a text for people: a terminal obeys nothing that stands in it."""
    deliver(inert_lines(text), output, inputs)


def deliver_json(data: object, output: Path | None = None, inputs: Iterable[str | Path] = ()) -> None:
    """Write data as JSON; structs may stand in it."""
    from capcheck.checking import names_for_others, renamed
    from capcheck.report import json_spelled, json_text

    files = list(inputs)
    deliver(renamed(json_text(data), names_for_others(map(str, files)), json_spelled), output, files)


def deliver_lines(styled: StyledLines, arguments: argparse.Namespace, inputs: Iterable[str | Path] = ()) -> None:
    """Write lines made for a width, in full if that is asked for: in colour on a terminal, plain elsewhere."""
    lines = styled(width=width_for(arguments.output), full=arguments.full)
    deliver_made_lines(lines, arguments.output, inputs)


def deliver_made_lines(lines: Sequence[Line], output: Path | None = None, inputs: Iterable[str | Path] = ()) -> None:
    """Write lines that were made before: in colour on a terminal, plain elsewhere."""
    if output is None and sys.stdout.isatty():
        from capcheck.commands.terminal import write_lines

        write_lines(lines)
    else:
        from capcheck.report import plain

        deliver(inert_lines(plain(lines)), output, inputs)


def width_for(output: Path | None) -> int:
    """Return the width to wrap at: the terminal's, within reason, where the text goes there, else a fixed one.

    ``COLUMNS`` in the environment goes before both, but not for a file: a shell tells it to no command by itself.
    """
    from capcheck.report import WIDTH_WHEN_PIPED

    if output is not None:
        return WIDTH_WHEN_PIPED
    import shutil

    asked = os.environ.get("COLUMNS", "")
    if not (asked.isdecimal() and int(asked)) and not sys.stdout.isatty():
        return WIDTH_WHEN_PIPED
    return max(_NARROWEST, min(shutil.get_terminal_size().columns, _WIDEST))


_NARROWEST: Final = 40
_WIDEST: Final = 140
