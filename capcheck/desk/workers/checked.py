"""A board checked on every line of the shop; each area of the page is written as soon as it is known."""

from __future__ import annotations

from pathlib import Path

from msgspec.structs import replace

from capcheck.checking import Report, check_read, prepare, read_prepared
from capcheck.desk.areas import AREAS, After, Found
from capcheck.desk.workers.downloads import write_downloads
from capcheck.desk.workers.orders import PHASE, OnLine, Order, Phase, Result, write_form
from capcheck.desk.workers.shop_of_order import lines_of, settings_of
from capcheck.report import questions_asked
from capcheck.survey import Surveyor


def check_board(order: Order, into: Path) -> Result:
    """Return what came of a check, with the areas of the page in *into*. Raises InputError where nothing is read."""
    source = Path(order.source)
    settings = settings_of(order, source)
    given = prepare(settings, None)
    lines = lines_of(order)
    found = Found(read_prepared(given, source), libraries=given.libraries)
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


def _write(found: Found, after: After, into: Path) -> None:
    """Write the areas that are known by now."""
    for area in AREAS.values():
        if area.made is not None and after in area.after:
            write_form(into / f"{area.name}.json", area.made(found))
