"""A table with what its columns are, and how much it looks like placements or like a bill of materials."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cached_property
from types import MappingProxyType

from capcheck.intake.tables.columns import Columns, ColumnsError, Purpose, contents_of, recognise
from capcheck.intake.tables.content import Content
from capcheck.intake.tables.header_words import Role
from capcheck.intake.tables.table import Table
from capcheck.values import Problem


class Recognised:
    """A table with what its columns are, as placements and as BOM; each is worked out once, when first asked for."""

    def __init__(self, table: Table) -> None:
        self.table = table
        self._known: dict[Purpose, Columns | ColumnsError] = {}

    @cached_property
    def _contents(self) -> list[Content]:
        return contents_of(self.table)

    def columns(self, purpose: Purpose, named: Mapping[str, str] = MappingProxyType({})) -> Columns:
        """Return :func:`recognise` of this table; raises its :class:`ColumnsError`."""
        if named:
            return recognise(self.table, purpose, named, self._contents)
        known = self._look(purpose)
        if isinstance(known, ColumnsError):
            raise known
        return known

    def ambiguities(self, purpose: Purpose) -> list[Problem]:
        """Return the problems of columns that claim one role alike."""
        known = self._look(purpose)
        return known.ambiguous if isinstance(known, ColumnsError) else []

    def score(self, purpose: Purpose) -> float:
        """Return how much the table looks like placements or like a BOM, 0 to 1."""
        known = self._look(purpose)
        return 0.0 if isinstance(known, ColumnsError) or not len(self.table) else _score(known.index, purpose)

    def _look(self, purpose: Purpose) -> Columns | ColumnsError:
        if purpose not in self._known:
            try:
                self._known[purpose] = recognise(self.table, purpose, contents=self._contents)
            except ColumnsError as error:
                self._known[purpose] = error
        return self._known[purpose]


def _score(found: Mapping[Role, int], purpose: Purpose) -> float:
    if purpose == "placements":
        extra = sum(role in found for role in (Role.ROTATION, Role.SIDE, Role.LAYER_MIRROR, Role.FOOTPRINT, Role.VALUE))
        return min(1.0, 0.7 + 0.1 * extra)
    described = (
        Role.PART_NUMBER,
        Role.VALUE,
        Role.DESCRIPTION,
        Role.FOOTPRINT,
        Role.COMMENT,
        Role.MANUFACTURER,
        Role.SIZE,
    )
    total = 0.3 + 0.3 * (Role.QUANTITY in found) + 0.1 * min(4, sum(role in found for role in described))
    return total * 0.3 if {Role.X, Role.Y} <= found.keys() else total
