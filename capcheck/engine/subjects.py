"""What a rule can be about, and which facts it then sees."""

from __future__ import annotations

from typing import Final

from msgspec import Struct

_ALWAYS: Final = frozenset({"board", "line"})


class Subject(Struct, frozen=True):
    """A kind of thing that rules are answered for.

    *rows* is the scope with one row for each thing; *each* is the scope for each of whose members all rows are
    answered again (``head`` for part on head). Both may be missing.
    """

    name: str
    rows: str | None
    each: str | None
    also: frozenset[str] = frozenset()

    @property
    def scopes(self) -> frozenset[str]:
        """The scopes of the facts that a rule on this subject may ask for."""
        own = frozenset(s for s in (self.rows, self.each) if s is not None)
        return _ALWAYS | own | self.also


SUBJECTS: Final[dict[str, Subject]] = {
    s.name: s
    for s in (
        Subject("board", None, None),
        Subject("side", "side", None),
        Subject("part", "part", None, frozenset({"side"})),
        Subject("pair", "pair", None, frozenset({"side"})),
        Subject("fiducial", "fiducial", None, frozenset({"side"})),
        Subject("bom line", "bom", None),
        Subject("data", "data", None),
        Subject("board on machine", None, "machine", frozenset({"transport"})),
        Subject("side on machine", "side", "machine", frozenset({"transport", "passage"})),
        Subject("fiducial on machine", "fiducial", "machine", frozenset({"side", "transport"})),
        Subject("part on machine", "part", "machine", frozenset({"side", "transport", "passing"})),
        Subject("part on head", "part", "head", frozenset({"side", "machine", "placing"})),
        Subject("line", None, None),
    )
}
"""All kinds of subject, by the name that a rule file uses."""

PART_ON_HEAD: Final = "part on head"
