"""A revision as the command line names it: a report, a board's folder, an archive, or a folder at a git revision."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from msgspec import Struct

from capcheck.intake import folder_of_archive, folder_of_git, is_archive, is_git_folder, removed_at_the_end
from capcheck.model import Board
from capcheck.revisions.board_of_report import board_of_report
from capcheck.shop import Known, known_in, known_of, report_data
from capcheck.values import InputError

if TYPE_CHECKING:
    from capcheck.checking import Report

Form = Literal["report", "folder", "archive", "git"]


class Revision(Struct, frozen=True):
    """One revision of a board: *board* is None for a report that holds none."""

    name: str
    form: Form
    board: Board | None
    findings: tuple[Known, ...]
    unanswered: bool
    """Whether the run answered nothing: what it does not name is not gone."""
    line: str | None
    """The line that it was checked against, if any."""
    files: tuple[str, ...] = ()


def read_revision(name: str, check: Callable[[Path], Report]) -> Revision:
    """Return the revision that *name* names, checked by *check* unless it is a report.

    Raises :class:`~capcheck.values.InputError`.
    """
    path = Path(name)
    if path.is_dir() or path.suffix.lower() == ".toml":
        return _checked(name, "folder", path, check)
    with removed_at_the_end():
        if is_git_folder(name):
            return _checked(name, "git", folder_of_git(name), check)
        if is_archive(path):
            return _checked(name, "archive", folder_of_archive(path), check)
    if not path.exists():
        raise InputError.at(
            name,
            "is not there",
            "it would be a report in JSON, a board's folder or an archive",
            "check the path; of a repository write REVISION:FOLDER",
        )
    data = report_data(path)
    line = data.get("line")
    return Revision(
        name=name,
        form="report",
        board=board_of_report(data, name),
        findings=tuple(known_in(data, name)),
        unanswered=data.get("verdict") == "unanswered",
        line=str(line.get("name")) if isinstance(line, dict) else None,
        files=(name,),
    )


def _checked(name: str, form: Form, folder: Path, check: Callable[[Path], Report]) -> Revision:
    report = check(folder)
    return Revision(
        name=name,
        form=form,
        board=report.board,
        findings=tuple(known_of((*report.findings, *report.known))),
        unanswered=report.verdict == "unanswered",
        line=None if report.line is None else report.line.name,
        files=tuple(file.path for file in report.inputs),
    )
