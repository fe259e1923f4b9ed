"""From findings to the rows of the placement data that they are about."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from capcheck.engine import Finding, SubjectName
from capcheck.model import Board
from capcheck.values import pattern, shortened

_WORD: Final = pattern(r"[^\s,;/+&–()]+")


class RowsOfSubjects:
    """Finds the placement rows of a subject: a part, a mark, a pair, the references of a disagreement."""

    def __init__(self, board: Board) -> None:
        self._of_ref: dict[str, list[int]] = {}
        for row, ref in enumerate(board.placements.ref):
            self._of_ref.setdefault(ref, []).append(row)
        self._together: dict[str, tuple[str, ...]] = {}
        for told in board.discrepancies:
            self._together.setdefault(shortened(told.refs) or told.title, tuple(told.refs))
        for line in board.bom or ():
            self._together.setdefault(" ".join(line.refs), line.refs)

    def of_refs(self, refs: Iterable[str]) -> tuple[int, ...]:
        """Return the rows with one of these references, in order."""
        return tuple(sorted({row for ref in refs for row in self._of_ref.get(ref, ())}))

    def of_subject(self, subject: SubjectName) -> tuple[int, ...]:
        """Return the rows that a subject is about; none for the board, a machine or the line."""
        if subject.ref is None:
            return ()
        if subject.ref in self._of_ref:
            return tuple(self._of_ref[subject.ref])
        return self.of_refs(self._together.get(subject.ref) or _WORD.findall(subject.ref))

    def of_findings(self, findings: Iterable[Finding]) -> tuple[int, ...]:
        """Return the rows of several findings, each once, in order."""
        return tuple(sorted({row for finding in findings for row in self.of_subject(finding.subject)}))
