"""What can be downloaded of a checked board: the same files as the commands write."""

from __future__ import annotations

from pathlib import Path
from typing import Final

from capcheck.desk.areas import Found
from capcheck.desk.workers.orders import write_whole
from capcheck.intake import plain
from capcheck.lexicon import customers_language
from capcheck.report import customers_languages, difference_page, load_format, parts_csv

_OF_EACH_LINE: Final = {"html": "html", "json": "json"}
_OF_THE_QUESTIONS: Final = {
    "questions-xlsx": "questions-{}.xlsx",
    "questions": "questions-{}.md",
    "mail": "mail-{}.txt",
}
"""In each language in which a customer can be asked."""


def write_downloads(found: Found, folder: Path) -> None:
    """Write the report on each line, the questions to the customer, and the parts as read."""
    folder.mkdir(exist_ok=True)
    for report in found.reports:
        named = "" if report.line is None else f" on {report.line.name}"
        for form, ending in _OF_EACH_LINE.items():
            _write(folder / plain(f"report{named}.{ending}"), load_format(form).render(report))
    for language in customers_languages():
        with customers_language(language):
            for form, name in _OF_THE_QUESTIONS.items():
                _write(folder / name.format(language), load_format(form).render(found.asking))
    if found.comparison is not None:
        _write(folder / "difference.html", difference_page(found.comparison))
    _write(folder / "parts.csv", parts_csv(found.board))


def _write(path: Path, text: str | bytes) -> None:
    write_whole(path, text.encode() if isinstance(text, str) else text)
