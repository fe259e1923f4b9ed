"""Templates of pages: whatever a text holds is escaped, what is missing is an error, control characters are signs."""

from __future__ import annotations

from functools import cache
from importlib import resources
from typing import TYPE_CHECKING, Final

from capcheck.values import InputError, cut, visible

if TYPE_CHECKING:
    import jinja2

_SHARED: Final = "capcheck.report.page"
"""Whose templates every page may include."""
_TEMPLATES: Final = "templates"
_MOST: Final = 300


@cache  # a reference has a page a rule, and compiling their template takes longer than all else
def environment_of(package: str) -> jinja2.Environment:
    """Return the environment of the templates of a package.

    Raises :class:`~capcheck.values.InputError` where the template library is not installed.
    """
    require_html()
    import jinja2

    environment = jinja2.Environment(
        loader=jinja2.ChoiceLoader([jinja2.PackageLoader(name, _TEMPLATES) for name in (package, _SHARED)]),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        finalize=_shown,
    )
    environment.filters.update(cut=lambda text: cut(text, _MOST))
    return environment


def require_html() -> None:
    """Raise :class:`~capcheck.values.InputError` where the template library is missing."""
    try:
        import jinja2  # noqa: F401
    except ImportError:
        raise InputError.at(
            "--format html",
            "needs the template library Jinja2, which is not installed",
            remedy='install it with: pip install "capcheck[html]"',
        ) from None


def _shown(value: object) -> object:
    """Return a text with its control characters as signs; markup and everything else as it is."""
    return visible(value) if type(value) is str else value


def template_text(name: str, package: str = "capcheck.report.page") -> str:
    """Return a file beside the templates, such as a style sheet, as it stands."""
    return (resources.files(package) / _TEMPLATES / name).read_text(encoding="utf-8")
