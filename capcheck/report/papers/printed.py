"""A paper as it prints, in a file of its own: the page's own print rules, no network, no script."""

from __future__ import annotations

from typing import Final

from capcheck.values import InputError

_ON_PAPER: Final = """
.paper .sheet{display:block}.paper .verdict{display:inline-block;margin-bottom:2mm}
.paper .figures{display:block!important;margin-top:2mm}
.paper .figures div{display:inline-block;width:46%;vertical-align:top}
.paper .contents{display:none}.paper .desk{display:block}
"""
"""What the library that sets the pages does not lay out as browsers do: grids."""


def require_pdf() -> None:
    """Raise :class:`~capcheck.values.InputError` where the library that sets pages, or what it needs, is missing."""
    try:
        import weasyprint  # noqa: F401 - also loads the system's libraries, which may be missing
    except (ImportError, OSError) as error:
        raise InputError.at(
            "--format pdf",
            f"needs the library WeasyPrint and the system's Pango: {error}",
            remedy='install it with: pip install "capcheck[pdf]", Pango by the system; or print the HTML page',
        ) from None


def pdf_of(page: str) -> bytes:
    """Return a page of HTML as PDF, the same bytes for the same page.

    Raises :class:`~capcheck.values.InputError` where the library for it, or what that needs, is not installed.
    """
    require_pdf()
    from weasyprint import HTML
    from weasyprint.urls import URLFetcher

    # Behind the page's own rules, which would win over a sheet beside it; texts within the page are escaped.
    styled = page.replace("</style>", f"{_ON_PAPER}</style>", 1)
    # Nothing is fetched: a page is whole, and what stands in it is a customer's.
    return bytes(HTML(string=styled, url_fetcher=URLFetcher(allowed_protocols=())).write_pdf())
