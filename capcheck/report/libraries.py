"""Which formats need a library beyond the program's own, told before any work is done for them."""

from __future__ import annotations


def require_library(form: str) -> None:
    """Raise :class:`~capcheck.values.InputError` where a format, such as ``pdf``, needs a library that is missing."""
    from capcheck.report.page import require_html
    from capcheck.report.papers import require_pdf
    from capcheck.report.workbook import require_xlsx

    if form == "pdf":
        require_pdf()
    if form.endswith("xlsx"):
        require_xlsx()
    if form in {"pdf", "html", "htm"} or form.endswith("-html"):
        require_html()
