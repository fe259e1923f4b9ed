"""The facts of a session as one kind of subject sees them."""

from __future__ import annotations

from collections.abc import Callable
from typing import cast

import numpy as np

from capcheck.engine.findings import FactValue, SubjectName
from capcheck.engine.nodes import Comparison, Environment, Kept, Members, Node
from capcheck.engine.subjects import Subject
from capcheck.facts import Column, Numbers, Session, Texts, expected, members_beyond, sure_members
from capcheck.model import Ints
from capcheck.values import Place

NAMES = {
    "part": "part.ref",
    "pair": "pair.refs",
    "fiducial": "fiducial.ref",
    "bom": "bom.refs",
    "data": "data.refs",
    "side": "side.name",
    "machine": "machine.name",
    "head": "head.name",
}
"""The fact that names the members of a scope."""

_OF_TWO_SCOPES = frozenset({"placing", "passing", "passage"})
"""Scopes whose facts come as one column for each head or machine."""

GROUPS = {"part": "part.type", "pair": "pair.kinds"}
"""The fact by which findings on the members of a scope are gathered."""


_COMPARED = 4
"""Comparisons of which a view keeps both sides: a rule has few, and columns of many parts fill the memory."""

_OTHER_MEMBER = {"pair.first.": "pair.second.", "pair.second.": "pair.first."}


def turned_name(name: str) -> str:
    """Return the fact of the other member of a pair; another fact as it is."""
    for own, other in _OTHER_MEMBER.items():
        if name.startswith(own):
            return other + name[len(own) :]
    return name


class View:
    """Columns by name for one subject: all its rows (or just *rows*), for one machine or head (*each*)."""

    def __init__(
        self,
        session: Session,
        subject: Subject,
        each: int | None = None,
        rows: Ints | None = None,
        *,
        is_turned: bool = False,
    ) -> None:
        self.session = session
        self.subject = subject
        self.each = each
        self.rows = rows
        self.is_turned = is_turned
        self._columns: dict[str, Column] = {}
        self._kept: dict[int, tuple[Node, object]] = {}
        """By the identity of a node, which is kept with it so that no other one gets the same."""
        self._compared: list[int] = []

    @staticmethod
    def count(session: Session, scope: str | None) -> int:
        """Return how many members *scope* has; the board and the line are one."""
        return 1 if scope is None else len(session.get(NAMES[scope]))

    @property
    def machine(self) -> int | None:
        """The machine that the view looks at: *each* itself, or the machine that carries the head."""
        if self.subject.each == "head" and self.each is not None:
            return int(self.session.numbers("head.machine_index").low[self.each])
        return self.each

    def at(self, rows: Ints) -> View:
        """Return the same view of some of its rows."""
        return View(self.session, self.subject, self.each, rows, is_turned=self.is_turned)

    def turned(self) -> View:
        """Return the same view with the two members of each pair exchanged."""
        return View(self.session, self.subject, self.each, self.rows, is_turned=not self.is_turned)

    def members(self, scope: str, of: str) -> Members:
        """Return the things of *scope* on the side that each subject is on, or on the whole board."""
        count, more = self.count(self.session, scope), members_beyond(self.session, scope)
        whole = rows = None
        own = self.subject.rows
        if of == "side":
            whole = np.arange(count) if scope == "side" else self._sides(scope)
            at = np.arange(len(more)) if own == "side" else self._sides(own or scope)
            rows = at if self.rows is None else at[self.rows]
        else:
            more = np.array([more.sum()])
        subject = Subject(scope, scope, self.subject.each, frozenset({"side"}))
        return Members(
            env=View(self.session, subject, self.each),
            count=count,
            sure=sure_members(self.session, scope),
            whole=whole,
            more=more,
            rows=rows,
            names=self.session.texts(NAMES[scope]),
        )

    def keep(self, node: Node, work: Callable[[Environment], Kept]) -> Kept:
        """Return the result of *work* for a *node*, worked out once for all that ask in this view.

        Of comparisons, whose sides the truth and its margins ask for in turn, the latest alone are kept.
        """
        if id(node) not in self._kept:
            self._kept[id(node)] = (node, work(self))
            # After the work, which may ask for comparisons within a side: a limit by conditions has them.
            if isinstance(node, Comparison):
                self._compared.append(id(node))
                if len(self._compared) > _COMPARED:
                    del self._kept[self._compared.pop(0)]
        return cast("Kept", self._kept[id(node)][1])

    def _sides(self, scope: str) -> Ints:
        return self.session.numbers(f"{scope}.side_index").low.astype(np.int64)

    def get(self, name: str) -> Column:
        """Return the column of a fact: one row a subject, or a single row that holds for all."""
        if self.is_turned:
            name = turned_name(name)
        if name not in self._columns:
            self._columns[name] = self._column(name)
        return self._columns[name]

    def _column(self, name: str) -> Column:
        scope = self.session.catalogue[name].scope
        subject = self.subject
        if scope in _OF_TWO_SCOPES:
            each = self.each if scope == "placing" else self.machine
            own = self.session.on_each(name)[each or 0]
            return own if self.rows is None else own.take(self.rows)
        column = self.session.get(name)
        if scope == subject.rows:
            return column if self.rows is None else column.take(self.rows)
        if scope == "side":
            index = self._sides(subject.rows or scope)
            return column.follow(index if self.rows is None else index[self.rows])
        if scope in {"machine", "transport"} and self.machine is not None:
            return column.take(np.array([self.machine]))
        if scope == "head" and self.each is not None:
            return column.take(np.array([self.each]))
        return column

    def value(self, name: str, row: int) -> FactValue:
        """Return a fact's value for the row of this view, with its source."""
        column = self.get(name)
        row = row if len(column) > 1 else 0
        fact = self.session.catalogue[name]
        source = column.source(row)
        if isinstance(column, Numbers):
            low, high = float(column.low[row]), float(column.high[row])
            return FactValue(name, low=low, high=high, dimension=fact.dimension, source=source)
        value = column.value(row)
        text = {True: "yes", False: "no"}[value] if isinstance(value, bool) else value
        return FactValue(name, text=text, source=source)

    def name(self, row: int) -> SubjectName:
        """Return the name of the subject in the row of this view."""

        def label(scope: str, index: int) -> str:
            return self.session.texts(NAMES[scope]).value(index) or "?"

        subject = self.subject
        own = row if self.rows is None else int(self.rows[row])
        ref = side = machine = head = None
        if subject.rows == "side":
            side = label("side", own)
        elif subject.rows is not None:
            ref = label(subject.rows, own)
        if self.machine is not None:
            machine = label("machine", self.machine)
        if subject.each == "head" and self.each is not None:
            head = label("head", self.each)
        return SubjectName(subject.name, ref, machine, head, side)

    def place(self, row: int) -> Place | None:
        """Return the file and row of the customer's data that the subject comes from, if there is one."""
        if self.subject.rows not in {"part", "fiducial", "bom", "data"}:
            return None
        own = row if self.rows is None else int(self.rows[row])
        source = self.session.get(NAMES[self.subject.rows]).source(own)
        return Place(source.file, source.row) if isinstance(source, Place) else None

    def part_type(self, row: int) -> str:
        """Return the part number, or what stands for it, of the part that the subject is; empty where it is none."""
        scope = self.subject.rows
        return expected(self.get(GROUPS[scope]), Texts).value(row) or "" if scope in GROUPS else ""

    def group(self, row: int, *, undecided: bool = False) -> str:
        """Return what findings on this subject are gathered by: the type of part, else the subject itself.

        What a machine as a whole objects to is gathered whatever the parts' types; an open question belongs to a type.
        """
        if self.subject.rows in GROUPS:
            return self.part_type(row) if undecided or self.subject.each != "machine" else ""
        name = self.name(row)
        return name.ref or name.side or ""
