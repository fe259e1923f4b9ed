"""The report as one HTML file: it needs no network and no other file, works from a mail attachment and prints well.

Everything is in the page without its script; the script adds filtering, zoom and the way from a line to the picture
and back. Only that one script may run: the page says so to the browser, by the script's hash.
"""

from __future__ import annotations

import base64
import hashlib
import json
import math
from functools import partial
from typing import Final

from capcheck.checking import Report, refs_by_hand
from capcheck.lexicon import cautions, customers_catalogue, sentence
from capcheck.report.first_screen import first_screen
from capcheck.report.machines_told import machines_told
from capcheck.report.page.asked_lines import asked_lines
from capcheck.report.page.margins import bars
from capcheck.report.page.sections import found, marks_of, page_data, type_labels, type_lines
from capcheck.report.page.templating import environment_of, template_text
from capcheck.report.picture import Thumbnails, board_svg, picture_remarks, two_sides
from capcheck.report.questions import GROUPS, boxes_of, row_in_words
from capcheck.report.rows_of_findings import RowsOfSubjects
from capcheck.report.rule_pages import page_of_rule
from capcheck.report.rules_asked import asked_in_short, rules_asked
from capcheck.report.sentences import base_name, not_fitted, place_of, size_of
from capcheck.version import __version__

_SCRIPTS: Final = ("picture.js", "labels.js", "choice.js", "sieve.js")
"""One script in four files, each of which uses what those before it define."""


def html_report(report: Report) -> str:
    """Return the page.

    Raises :class:`~capcheck.values.InputError` where the template library is not installed.
    """
    environment = environment_of("capcheck.report.page")
    environment.filters.update(base_name=base_name)
    environment.globals.update(place_of=place_of, sentence=sentence)
    rows = RowsOfSubjects(report.board)
    findings = found(report, rows)
    marks = marks_of(findings)
    types = type_lines(report, type_labels(report.board))
    script = f'"use strict";\n(() => {{\n{"".join(map(template_text, _SCRIPTS))}}})();\n'
    placements = report.board.placements
    asked, small = rules_asked(report), Thumbnails.of(report.board)
    return environment.get_template("report.html").render(
        report=report,
        page_of_rule=partial(page_of_rule, report.documentation),
        board=report.board,
        size=size_of(report.board),
        bottom=int((placements.is_part & (placements.side == 1)).sum()),
        parts=int(placements.is_part.sum()),
        screen=first_screen(report),
        findings=findings,
        lines={line.number: line for line in findings.lines},
        bars=bars(report, rows),
        heads=[(m.name, [h.name for h in m.head]) for m in report.line.machines] if report.line else [],
        machines=list(machines_told(report.line)),
        types=types,
        by_hand=refs_by_hand(report),
        not_fitted=not_fitted(report.board),
        asked_lines=asked_lines(report, rows, types),
        small=small,
        question_titles={str(group): customers_catalogue().paper[f"group {group}"] for group in GROUPS},
        otherwise=customers_catalogue().paper["otherwise"],
        questions_language=customers_catalogue().paper["language"],
        boxes_of=boxes_of,
        row_in_words=row_in_words,
        asked=asked,
        asked_in_short=asked_in_short(asked),
        cautions=cautions(),
        version=__version__,
        style=template_text("report.css"),
        script=script,
        script_hash=base64.b64encode(hashlib.sha256(script.encode()).digest()).decode(),
        two_sides=two_sides(report.board),
        has_lands=report.board.lands is not None,
        picture=board_svg(
            report.board,
            marked=marks.texts,
            grades=marks.grades,
            numbers=marks.flags,
            live=True,
            stacked=True,
            edge_strip_mm=_edge_strip(report),
        ),
        remarks=picture_remarks(report.board, _edge_strip(report)),
        data=_json(page_data(report, findings, types)),
    )


def _json(data: dict[str, object]) -> str:
    """Return JSON that cannot end the element it stands in."""
    text = json.dumps(data, ensure_ascii=True, separators=(",", ":"), allow_nan=False)
    return text.replace("<", "\\u003c").replace(">", "\\u003e").replace("&", "\\u0026")


def _edge_strip(report: Report) -> float | None:
    """Return the widest edge that a machine of the line keeps for its conveyor, or None where none is stated."""
    if report.line is None:
        return None
    stated = [
        value
        for machine in report.line.machines
        for value in (machine.board.edge_clearance_top, machine.board.edge_clearance_bottom)
        if value is not None and math.isfinite(value)
    ]
    return max(stated, default=None)
