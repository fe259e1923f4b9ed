"""The formats of a report, one module each: adding a module adds the format.

A module has a line of help and a function that renders a report, as :class:`Format` says; its name is the format's,
with a hyphen for each underscore. It is imported only when its format is asked for.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, Final, Protocol, cast

if TYPE_CHECKING:
    from capcheck.checking import Report


ENDINGS: Final = {
    "text": (".txt",),
    "html": (".html", ".htm"),
    "markdown": (".md",),
    "csv": (".csv",),
    "xlsx": (".xlsx",),
    "pdf": (".pdf",),
    "svg": (".svg",),
    "json": (".json",),
    "sarif": (".sarif",),
    "junit": (".xml",),
    "questions": (".md",),
    "questions-csv": (".csv",),
    "questions-xlsx": (".xlsx",),
    "mail": (".txt",),
    "github": (".txt",),
    "lines": (".txt",),
    "parquet": (".parquet",),
}
"""The endings of files of each format, of papers on many boards too; one that several have names the first of them."""
ONE_AFTER_ANOTHER: Final = frozenset({"text", "lines", "github"})
"""The formats of which several reports may follow one another in one stream."""


class Format(Protocol):
    """What a module of this folder offers."""

    HELP: str
    """What the format is for, in one line."""

    def render(self, report: Report) -> str | bytes:
        """Return the whole report."""


def format_names() -> list[str]:
    """Return the name of every format in alphabetical order, found without importing any."""
    modules = sorted(path.stem for folder in __path__ for path in Path(folder).glob("[!_]*.py"))
    return [module.replace("_", "-") for module in modules]


def load_format(name: str) -> Format:
    """Return one of :func:`format_names`, imported. What is wrong with its module is raised, not passed over."""
    return cast("Format", import_module(f"{__name__}.{name.replace('-', '_')}"))


def pieces_of(name: str, report: Report) -> str | bytes | Iterator[str]:
    """Return the whole report, in pieces made as they are asked for where the format knows them."""
    module = load_format(name)
    pieces: Callable[[Report], Iterator[str]] | None = getattr(module, "pieces", None)
    return module.render(report) if pieces is None else pieces(report)
