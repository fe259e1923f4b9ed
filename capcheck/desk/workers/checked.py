"""A board checked on every line of the shop; each area of the page is written as soon as it is known."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from msgspec.structs import replace

from capcheck.checking import Report, check_read, prepare, read_prepared
from capcheck.desk.areas import AREAS, After, Found
from capcheck.desk.workers.downloads import write_downloads
from capcheck.desk.workers.orders import CHECKED, PHASE, OnLine, Order, Phase, Result, write_form
from capcheck.desk.workers.shop_of_order import lines_of, settings_of
from capcheck.machines import Line
from capcheck.report import questions_asked
from capcheck.revisions import Comparison, Revision, compare_revisions, read_revision
from capcheck.shop import known_of
from capcheck.survey import Surveyor
from capcheck.values import InputError


def check_board(order: Order, into: Path) -> Result:
    """Return what came of a check, with the areas of the page in *into*. Raises InputError where nothing is read."""
    source = Path(order.source)
    settings = settings_of(order, source)
    given = prepare(settings, None)
    lines = lines_of(order)
    found = Found(read_prepared(given, source), folder=source, libraries=given.libraries)
    _write(found, "read", into)
    surveyor = Surveyor(lines, given, questions_asked, 0.0)
    reports: list[Report] = []
    for number, line in enumerate(lines):
        write_form(into / PHASE, Phase(f"checking on {line.name}", number, len(lines)))
        reports.append(check_read(given, found.board, line))
    if not lines:
        reports = [check_read(given, found.board, None)]
    results = tuple(surveyor.result_of(r, line) for r, line in zip(reports, lines, strict=False))
    found = replace(found, reports=tuple(reports), lines=tuple(line.name for line in lines), results=results)
    _write(found, "checked", into)
    (into / CHECKED).touch()
    if order.earlier:
        write_form(into / PHASE, Phase("comparing with the earlier revision"))
        found = replace(found, comparison=_compared(order, found, lines))
        _write(found, "compared", into)
    if order.shop.plan_seconds:
        planner = replace(surveyor, plan_seconds=order.shop.plan_seconds)
        for number, line in enumerate(lines):
            write_form(into / PHASE, Phase(f"planning on {line.name}", number, len(lines)))
            planned = planner.result_of(reports[number], line)
            found = replace(found, results=(*found.results[:number], planned, *found.results[number + 1 :]))
        _write(found, "planned", into)
    write_form(into / PHASE, Phase("writing what can be downloaded"))
    write_downloads(found, into / "downloads")
    verdicts = [OnLine(n, r.verdict, r.panel is not None) for n, r in zip(found.lines, found.results, strict=True)]
    return Result(
        "done",
        board=found.board.name,
        questions=min(map(questions_asked, reports)),
        lines=tuple(verdicts) or (OnLine("", reports[0].verdict),),
    )


def _compared(order: Order, found: Found, lines: Sequence[Line]) -> Comparison | None:
    """Return what became of the earlier revision on the line that suits this one best; None where it is not read."""
    line = lines[found.best] if lines else None

    def check(folder: Path) -> Report:
        given = prepare(settings_of(order, folder), None)
        return check_read(given, read_prepared(given, folder), line)

    try:
        earlier = read_revision(order.earlier, check)
    except InputError:
        return None
    report = found.asking
    findings = tuple(known_of((*report.findings, *report.known)))
    files = tuple(file.path for file in report.inputs)
    name = None if line is None else line.name
    later = Revision(order.source, "folder", report.board, findings, report.verdict == "unanswered", name, files)
    return compare_revisions(replace(earlier, name="the earlier revision"), replace(later, name="this revision"))


def _write(found: Found, after: After, into: Path) -> None:
    """Write the areas that are known by now."""
    for area in AREAS.values():
        if area.made is not None and after in area.after:
            write_form(into / f"{area.name}.json", area.made(found))
