"""What a Python program gets of a check: the report, which writes itself and gives its rows as columns.

The report of ``checking/`` knows nothing of formats; this one is the same record, made where the formats are known.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Mapping, Sequence
from functools import wraps
from html import escape
from typing import TYPE_CHECKING, Any, Final, Literal, ParamSpec

from msgspec import Struct, to_builtins

from capcheck import checking
from capcheck.lexicon import cautions
from capcheck.report.formats import load_format
from capcheck.report.json_schema import FindingJson, PartJson, RuleJson
from capcheck.report.sentences import count_line
from capcheck.values import cut

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

_P = ParamSpec("_P")
Rows = Literal["parts", "findings", "rules"]
_ROWS: Final[dict[str, type[Struct]]] = {"parts": PartJson, "findings": FindingJson, "rules": RuleJson}
_APART: Final = frozenset({"facts"})
"""Keys whose names differ from row to row: they stay one column, of dictionaries."""
_MOST_SHOWN: Final = 10


class Report(checking.Report, frozen=True, dict=True):
    """The result of a check. Printed, it is one line; a notebook shows its first findings.

    ``verdict``, ``counts``, ``findings``, ``notes``, ``inputs``, ``board`` and ``line`` are named as in the JSON;
    ``exit_code`` is what the command would return.
    """

    @property
    def counts(self) -> dict[str, int]:
        """The answers counted, under the names of the JSON: ``pass``, ``warn``, ``fail``, ``undecided`` and others."""
        found: dict[str, int] = to_builtins(self.totals)
        return found

    def to_json(self) -> str:
        """Return the report as JSON, the same bytes as ``capcheck check --format json``."""
        return self._written("json")

    def to_html(self) -> str:
        """Return the report as a page in one file. Raises :class:`~capcheck.InputError` without the extra ``html``."""
        return self._written("html")

    def to_svg(self) -> str:
        """Return the picture of the board, both sides."""
        return self._written("svg")

    def frame(self, rows: Rows = "parts") -> dict[str, NDArray[Any]]:
        """Return rows of the JSON as columns of equal length, for a data frame of any library to be made of.

        Names are those of the JSON; what is nested has a dot (``body_mm.length.low``, in mm, beside ``.high``). Numbers
        are arrays of float, with nan for what is not known; yes and no of bool, where all are known; all else of
        objects. Raises ValueError for other rows than ``parts``, ``findings`` and ``rules``.
        """
        if rows not in _ROWS:
            raise ValueError(f'there are no rows "{rows}"; there are {", ".join(_ROWS)}')
        flat = [dict(_flat(row)) for row in json.loads(self.to_json())[rows]]
        names = dict.fromkeys(name for row in flat for name in row)
        # What is nested in some rows is nothing in others: it has its columns, and none of its own.
        names = {name: None for name in names if not any(other.startswith(f"{name}.") for other in names)}
        known = {name.partition(".")[0] for name in names}
        names |= dict.fromkeys(name for name in _ROWS[rows].__struct_encode_fields__ if name not in known)
        return {name: _array([row.get(name) for row in flat]) for name in names}

    def _written(self, form: str) -> str:
        text = load_format(form).render(self)
        assert isinstance(text, str)  # noqa: S101  for the type checker: these formats are texts
        return text

    def _title(self) -> str:
        on = "" if self.line is None else f" on {self.line.name}"
        return cut(f"{self.board.name}{on}", 80)

    def __repr__(self) -> str:
        return f"<Report {self._title()}: {count_line(self)}>"

    def _repr_html_(self) -> str:
        """Return what a notebook shows: the counts, the first findings, the cautions."""
        shown = [finding for finding in self.findings if not finding.waived][:_MOST_SHOWN]
        cells = [(finding.outcome, finding.rule, finding.message) for finding in shown]
        lines = "".join(f"<tr>{''.join(f'<td>{escape(cell)}</td>' for cell in row)}</tr>" for row in cells)
        rest = len(self.findings) - len(shown)
        more = f"<p>and {rest} more: <code>.frame('findings')</code></p>" if rest else ""
        head = f"<p><b>{escape(self._title())}</b><br>{escape(count_line(self))}</p>"
        return f"{head}<table>{lines}</table>{more}<p><small>{escape(cautions())}</small></p>"


def _flat(row: Mapping[str, object], above: str = "") -> Iterator[tuple[str, object]]:
    """Yield the cells of a row by name: what is nested under its path, a range as its two ends."""
    for key, value in row.items():
        name = f"{above}{key}"
        if isinstance(value, dict) and name not in _APART:
            yield from _flat(value, f"{name}.")
        elif isinstance(value, list) and len(value) == 2 and all(_is_number(v) or v is None for v in value):
            yield from ((f"{name}.low", value[0]), (f"{name}.high", value[1]))
        else:
            yield name, tuple(value) if isinstance(value, list) else value


def _is_number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


def _array(cells: Sequence[object]) -> NDArray[Any]:
    """Return a column as an array."""
    import numpy as np

    if cells and all(isinstance(cell, bool) for cell in cells):
        return np.array(cells, dtype=bool)
    if any(map(_is_number, cells)) and all(_is_number(cell) or cell is None for cell in cells):
        return np.array([np.nan if cell is None else cell for cell in cells], dtype=float)
    column: np.ndarray[Any, Any] = np.empty(len(cells), dtype=object)
    column[:] = cells
    return column


def _reporting(function: Callable[_P, checking.Report]) -> Callable[_P, Report]:
    """Return the function with its report as one that writes itself."""

    @wraps(function)
    def call(*args: _P.args, **kwargs: _P.kwargs) -> Report:
        found = function(*args, **kwargs)
        return Report(**{name: getattr(found, name) for name in found.__struct_fields__})

    return call


check: Final = _reporting(checking.check)
check_board: Final = _reporting(checking.check_board)
