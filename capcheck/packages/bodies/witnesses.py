"""The witnesses of one part side by side: what each says of each fact, which counts, and what would settle the rest."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final, Literal

from msgspec import Struct

from capcheck.lexicon import sentence
from capcheck.model import Basis, Measure, Mounting
from capcheck.packages.bodies.size_code_evidence import agreed_system
from capcheck.packages.bodies.template import key_of, titled, what_is_missing
from capcheck.packages.bodies.unknowns import unknown_fields
from capcheck.packages.bodies.weighing import weigh
from capcheck.packages.candidate import OF_THE_BOM, Candidate, Column, Trust, sides, texts_of
from capcheck.packages.library import LIBRARY_KEYS, MEASURES
from capcheck.values import LENGTH, Interval, harmless, show, show_sides

if TYPE_CHECKING:
    from collections.abc import Sequence

    from capcheck.model import PartName
    from capcheck.packages.bodies.disputes import Dispute, Prefer
    from capcheck.packages.bodies.weighing import Weighed
    from capcheck.packages.library_entries import Library

Mark = Literal["taken", "agrees", "contradicts", "other"]
"""Whether a fact is taken from a witness, or how what it says stands to what is taken."""

FACTS: Final = {
    "kind": ("family", "family_key", "part_class"),
    "size": ("length", "width"),
    "height": ("height",),
    "pitch": ("pitch",),
    "pins": ("pins",),
    "leads": ("lead_style",),
    "mounting": ("mounting",),
}
"""The facts of a body, each with the fields of a candidate that state it."""

_NAMES: Final = {
    Column.FOOTPRINT: "footprint",
    Column.PART_NUMBER: "part number",
    Column.DESCRIPTION: "description",
    Column.VALUE: "value",
    Column.BOM_PACKAGE: "BOM package",
    Column.STATED: "columns",
    Column.LIBRARY: "library",
}
"""The texts, in the order in which they are shown."""
_STORE: Final = "store"
_WITNESSES: Final = (*_NAMES.values(), _STORE)


_NO_WITNESS: Final = frozenset((Basis.BOUND, Basis.TYPICAL))
"""What no source says of the part: it is told beside the figure."""


class Cell(Struct, frozen=True):
    """What one witness says of one fact, as a reader is shown it."""

    text: str
    mark: Mark


class Witness(Struct, frozen=True):
    """One source of the data with what it says of a body."""

    name: str
    says: dict[str, Cell]
    """By fact; a fact that it does not state is not there."""
    narrowed_by: tuple[str, ...]
    """The sources that left fewer bodies possible than its text alone does."""


class Settling(Struct, frozen=True):
    """Something that would settle what is open: lines to write into a file, and when they are right."""

    file: Literal["board.toml", "library"]
    lines: tuple[str, ...]
    when: str


class Witnesses(Struct, frozen=True):
    """All witnesses of a part, what counts, and what would settle the rest."""

    witnesses: tuple[Witness, ...]
    silent: tuple[str, ...]
    """The texts that say nothing of the body."""
    counts: dict[str, str]
    """What counts, by fact, as a reader is shown it."""
    settle: tuple[Settling, ...]


def witnesses_of(
    name: PartName,
    *,
    types: Sequence[PartName] = (),
    size_codes: Literal["inch", "metric"] | None = None,
    library: Library | None = None,
    prefer: Prefer | None = None,
    refs: Sequence[str] = (),
    board: str = "",
) -> Witnesses:
    """Return the witnesses of *name*; *refs* are the parts of its type on the *board* of that name.

    The other arguments are those of :func:`capcheck.packages.bodies.explanation.explain`.
    """
    weighed = weigh(name, agreed_system(types or (name,), size_codes), library, prefer)
    found = []
    for witness in _WITNESSES:
        own = [c for c in weighed.candidates if _witness(c) == witness]
        says = {fact: cell for fact in FACTS if (cell := _cell(fact, own, weighed)) is not None}
        if says:
            narrowed = dict.fromkeys(sentence(said) for c in own for said in c.narrowed_by)
            found.append(Witness(witness, says, tuple(narrowed)))
    texts = [*texts_of(name), (Column.PART_NUMBER, name.part_number)]
    heard = {_bare(c.text) for c in weighed.candidates} | {""}
    return Witnesses(
        witnesses=tuple(found),
        silent=tuple(_NAMES[column] for column, text in texts if _bare(text) not in heard),
        counts={fact: _counts(fact, weighed) for fact in FACTS},
        settle=tuple(_settling(name, weighed, refs, board)),
    )


def _witness(candidate: Candidate) -> str:
    """Return which witness a candidate is; a list of the shop's and its store are two. Empty for no text."""
    if candidate.column is None:
        return ""
    return _STORE if candidate.is_of_store else _NAMES[candidate.column]


def _bare(text: str) -> str:
    """Return a text as it is compared with others: a name is the same with a library's name before it."""
    return text.casefold().rpartition(":")[2].strip()


def _cell(fact: str, own: list[Candidate], weighed: Weighed) -> Cell | None:
    """Return what the candidates *own* of one witness say of a fact, the first that states it before the others."""
    stating = {f: c for f in FACTS[fact] for c in reversed(own) if getattr(c, f) is not None}
    if not stating:
        if fact == "kind" and any(c.contradicted.key for c in own):
            return Cell("of another kind", "contradicts")
        return None
    return Cell(_said(fact, stating), _mark(fact, own, stating, weighed))


def _mark(fact: str, own: list[Candidate], stating: dict[str, Candidate], weighed: Weighed) -> Mark:
    against = [d for d in weighed.disputes if any(c is d.other for c in own)]
    disputed = {field for dispute in against for field in _fields_of(dispute)}
    if disputed.intersection(FACTS[fact]):
        return "contradicts"
    if any(weighed.taken.get(field) is candidate for field, candidate in stating.items()):
        return "taken"
    agreeing = [_agrees(field, candidate, weighed) for field, candidate in stating.items() if field in weighed.taken]
    if any(agreeing) if fact == "kind" else all(agreeing):
        return "agrees" if agreeing else "other"
    return "contradicts" if any(dispute.is_of_package for dispute in against) else "other"


def _fields_of(dispute: Dispute) -> tuple[str, ...]:
    return ("length", "width", "family") if dispute.field == "body" else (dispute.field,)


def _agrees(field: str, candidate: Candidate, weighed: Weighed) -> bool:
    """Whether a candidate may say of a field what the one says that it is taken from.

    What counts may be the hull of both, with which each of them would agree.
    """
    taken = weighed.taken[field]
    if field in FACTS["size"]:
        mine, counts = (_in_order(c)[FACTS["size"].index(field)] for c in (candidate, taken))
        return mine is None or counts is None or mine.overlaps(counts)
    value, counts = getattr(candidate, field), getattr(taken, field)
    return bool(value.overlaps(counts) if isinstance(value, Interval) else value == counts)


def _in_order(candidate: Candidate) -> tuple[Interval | None, Interval | None]:
    """Return length and width, the longer first."""
    length, width = candidate.length, candidate.width
    return (length, width) if length is None or width is None else sides(length, width)


def _said(fact: str, stating: dict[str, Candidate]) -> str:
    values = {field: getattr(candidate, field) for field, candidate in stating.items()}
    if fact == "kind":
        return str(next(iter(values[f] for f in FACTS["kind"] if f in values)))
    if fact == "size":
        length, width = values.get("length"), values.get("width")
        return _size(length, width)
    (value,) = values.values()
    return _shown(value)


def _size(length: Interval | None, width: Interval | None) -> str:
    if length is None or width is None:
        side = length or width
        return "" if side is None else f"side {_shown(side)}"
    return (
        show_sides(sides(length, width))
        if length.is_known and width.is_known
        else f"{_shown(length)} × {_shown(width)}"
    )


def _shown(value: object) -> str:
    return show(value.low, value.high, LENGTH) if isinstance(value, Interval) else str(value)


def _counts(fact: str, weighed: Weighed) -> str:
    """Return what counts of a fact, as a reader is shown it: ``?`` where nothing is known, ``-`` where nobody asks."""
    body = weighed.body
    if fact == "kind":
        either = [c.family or c.family_key for c in _rivals(weighed)] if "body" in body.disputed else []
        named = dict.fromkeys(str(name) for name in either or (body.family, body.family_key, body.part_class) if name)
        return " or ".join(named if either else list(named)[:1]) or "?"
    values = [getattr(body, field) for field in FACTS[fact]]
    open_as = "?" if set(FACTS[fact]) & {*unknown_fields(body), *body.disputed} else "-"
    if not isinstance(values[0], Measure):
        return open_as if values[0] is None else str(values[0])
    known = [measure for measure in values if measure.value.low > 0 or not math.isinf(measure.value.high)]
    if not known:
        return open_as
    shown = _size(*(m.value for m in known)) if len(known) == len(FACTS["size"]) else _shown(known[0].value)
    return shown if known[0].basis not in _NO_WITNESS else f"{shown} ({known[0].basis})"


def _settling(name: PartName, weighed: Weighed, refs: Sequence[str], board: str) -> list[Settling]:
    """Return what would settle the body: rows of the library, one for each reading, then lines of board.toml."""
    missing = what_is_missing(weighed.body)
    found = []
    if missing:
        fields = [field for field in missing if field in {*MEASURES, "mounting", "lead style"}] or ["length", "width"]
        rows: dict[tuple[str, ...], list[str]] = {}
        for rival in _rivals(weighed):
            row = _row(name, refs, board, {field: _cell_of(rival, field) for field in fields})
            rows.setdefault(row, []).append(_called(rival))
        found += [Settling("library", row, f"if {' or '.join(called)} is right") for row, called in rows.items()]
        if not rows and (row := _row(name, refs, board, dict.fromkeys(fields, ""))):
            found.append(Settling("library", row, "filled in"))
    words = (("footprint", "footprints"), ("bom", "BOM"), ("library", "list"), ("store", "store"))
    found += [
        Settling("board.toml", (f'prefer = "{prefer}"',), f"to believe the {believed} of all parts")
        for prefer, believed in words
        if any(_settled_by(prefer, dispute) for dispute in weighed.disputes if not dispute.settled)
    ]
    if "mounting" in unknown_fields(weighed.body) and refs:
        lines = tuple(f'mounting = {{ "{refs[0]}" = "{word}" }}' for word in (Mounting.SURFACE, Mounting.THROUGH_HOLE))
        found.append(Settling("board.toml", lines, "one of the two"))
    return found


def _settled_by(prefer: str, dispute: Dispute) -> bool:
    """Whether ``prefer`` in board.toml settles a dispute: which of footprint and BOM is believed, of list and store."""
    if prefer in {"library", "store"}:
        return dispute.is_of_records
    columns = {dispute.used.column, dispute.other.column}
    if Column.FOOTPRINT not in columns or dispute.used.trust is Trust.LIBRARY:
        return False
    others = columns - {Column.FOOTPRINT}
    return bool(others & (OF_THE_BOM if prefer == "footprint" else OF_THE_BOM | {Column.STATED}))


def _rivals(weighed: Weighed) -> list[Candidate]:
    """Return the candidates that dispute the body, each reading once."""
    found: dict[int, Candidate] = {}
    for dispute in weighed.disputes:
        if not dispute.settled:
            used = next((c for c in weighed.candidates if c.has_origin_of(dispute.used)), dispute.used)
            found.setdefault(id(used), used)
            found.setdefault(id(dispute.other), dispute.other)
    return list(found.values())


def _called(candidate: Candidate) -> str:
    return f"the {witness}" if (witness := _witness(candidate)) else candidate.source


def _cell_of(candidate: Candidate, field: str) -> str:
    value = getattr(candidate, field.replace(" ", "_"))
    if isinstance(value, Interval):
        nominal = getattr(candidate, f"nominal_{field}", None) or value
        if math.isinf(nominal.high):
            return ""
        if nominal.low <= 0:
            return f"max {nominal.high:g}"
        return f"{nominal.low:g}" if nominal.is_exact else f"{nominal.low:g} to {nominal.high:g}"
    return "" if value is None else str(value)


def _row(name: PartName, refs: Sequence[str], board: str, cells: dict[str, str]) -> tuple[str, ...]:
    """Return the header and the row of a library that states *cells* of a part."""
    import csv
    import io

    key = key_of(name, refs, board)
    if key is None:
        return ()
    keys = {title: text for title, text in zip(LIBRARY_KEYS, key.cells, strict=True) if text}
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerows(([*keys, *map(titled, cells)], map(harmless, (*keys.values(), *cells.values()))))
    return tuple(out.getvalue().splitlines())
