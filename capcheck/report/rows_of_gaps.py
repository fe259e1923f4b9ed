"""What is undecided as rows of the first screen: one for each kind of datum that parts lack, then the rest."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Final

from capcheck.checking import Report
from capcheck.lexicon import plain_fact
from capcheck.report.groups import Gap, gaps
from capcheck.report.sentences import is_fact_of_the_shop, lacking, vague_and_unknown
from capcheck.values import counted, shortened

MOST_ROWS: Final = 8
_MOST_TYPES: Final = 5
_MOST_REFS: Final = 6
_LACKING: Final[Sequence[tuple[str, frozenset[str]]]] = (
    ("whether it is a part", frozenset({"part.is_part"})),
    ("nothing known", frozenset({"part.mounting", "part.length"})),
    ("how mounted", frozenset({"part.mounting"})),
    ("size", frozenset({"part.length"})),
    ("size", frozenset({"part.width"})),
    ("size", frozenset({"part.nominal_length"})),
    ("height", frozenset({"part.height"})),
    ("pitch or leads", frozenset({"part.lead_style"})),
    ("balls", frozenset({"part.ball_diameter"})),
    ("pitch or leads", frozenset({"part.pitch"})),
    ("pitch or leads", frozenset({"part.lead_width"})),
    ("packaging", frozenset({"part.supply"})),
    ("width of the tape, for the feeder", frozenset({"placing.has_tape_feeder"})),
    ("packaging, for the feeder bank", frozenset({"placing.bank_takes"})),
    ("exact size (for the nozzle)", frozenset({"placing.nozzle_for_size"})),
    ("number of leads (for the camera)", frozenset({"part.pins"})),
    ("position", frozenset({"part.located"})),
    ("exact size (near the board's edge)", frozenset({"part.contour_distance"})),
    ("exact size (near a conveyor edge)", frozenset({"passing.edge_distance"})),
    ("exact size (near the leading or trailing edge)", frozenset({"passing.leading_distance"})),
    ("exact size (near a hole)", frozenset({"part.hole_distance"})),
    ("exact size (near a cut-out)", frozenset({"part.cutout_distance"})),
    ("exact size (near a depanelling line)", frozenset({"part.parting_distance"})),
    ("which way they lie at 0° (near a depanelling line)", frozenset({"part.across_parting_distance"})),
    ("exact size (near a break-off tab)", frozenset({"part.tab_distance"})),
    ("exact sizes around it (room for rework)", frozenset({"part.free_ring"})),
    ("thickness of the stencil, for the area ratio of its openings", frozenset({"part.area_ratio"})),
    ("mass, for hanging through a second reflow", frozenset({"part.hanging_load"})),
    ("mass", frozenset({"part.mass_estimate"})),
)
"""What a part lacks, in a word: the first of these whose facts are all missing."""


def is_of_parts(gap: Gap) -> bool:
    """Whether all that a gap leaves undecided is about parts."""
    return all(f.subject.ref is not None and f.subject.kind.startswith("part") for f in gap.findings)


def title_of_undecided(found: Sequence[Gap], asked: frozenset[str]) -> str:
    """Return the heading of the rows of parts, with how many types and parts there are beside those *asked* about."""
    open_ = [f for gap in found for f in gap.findings if f.subject.ref not in asked]
    types, parts = {f.part_type or f.group for f in open_}, {f.subject.ref for f in open_}
    return f"Undecided, data missing ({counted(len(types), 'part type')}, {counted(len(parts), 'part')})"


def rows_of_parts(found: Sequence[Gap], asked: frozenset[str]) -> Iterator[str]:
    """Return a row for each kind of datum that parts lack, with the types that lack it, the most frequent first.

    What *asked* parts lack is told by the question that names them.
    """
    lacking: dict[str, dict[str, str]] = {}
    for gap in found:
        own = {f.subject.ref or "": f.group or f.part_type for f in gap.findings if f.subject.ref not in asked}
        if own:
            lacking.setdefault(_in_a_word(gap), {}).update(own)
    rows = sorted(lacking.items(), key=lambda item: -len(item[1]))
    yield from (_lacking_row(word, types) for word, types in rows[:MOST_ROWS])
    if len(rows) > MOST_ROWS:
        left = {ref for _, types in rows[MOST_ROWS:] for ref in types}
        yield f"other data: {counted(len(left), 'part')}: {shortened(tuple(left), _MOST_REFS)}"


def words_of_parts(found: Sequence[Gap], asked: frozenset[str]) -> dict[str, str]:
    """Return in a word what each part lacks, by its reference; of those that are not *asked* about."""
    own = ((f.subject.ref or "", _in_a_word(gap)) for gap in found for f in gap.findings)
    return {ref: word for ref, word in own if ref not in asked}


def lacking_by_kind(found: Sequence[Gap]) -> Iterator[tuple[str, tuple[str, ...], tuple[str, ...]]]:
    """Yield what is missing, in a word where it is of parts, each once, with all that lack it and the rules."""
    gathered: dict[str, tuple[dict[str, None], dict[str, None]]] = {}
    for gap in found:
        word = _in_a_word(gap) if is_of_parts(gap) else lacking(gap)
        subjects, rules = gathered.setdefault(word, ({}, {}))
        subjects |= dict.fromkeys(gap.subjects)
        rules |= dict.fromkeys(gap.rules)
    yield from ((word, tuple(subjects), tuple(rules)) for word, (subjects, rules) in gathered.items())


def lacking_on(report: Report) -> list[tuple[str, tuple[str, ...]]]:
    """Return what is missing on a board, as :func:`lacking_by_kind`, with all that lack it; what most lack first."""
    found = gaps([finding for finding in report.findings if not finding.waived])
    rows = [(word, subjects) for word, subjects, _ in lacking_by_kind(found)]
    return sorted(rows, key=lambda row: -len(row[1]))


def _lacking_row(word: str, types: Mapping[str, str]) -> str:
    """Return a row of what lacks; *types* are those of the parts, by reference."""
    refs: dict[str, list[str]] = {}
    for ref, kind in types.items():
        refs.setdefault(kind or ref, []).append(ref)
    kinds = sorted(refs, key=lambda kind: -len(refs[kind]))
    shown = kinds[:_MOST_TYPES]
    listed = ", ".join(kind if refs[kind] == [kind] else f"{kind} ({shortened(refs[kind], 2)})" for kind in shown)
    more = f" and {len(kinds) - len(shown)} more" if len(kinds) > len(shown) else ""
    return f"{word}: {counted(len(types), 'part')}: {listed}{more}"


def _in_a_word(gap: Gap) -> str:
    missing = {name for name, _ in gap.missing}
    for word, facts in _LACKING:
        if facts <= missing:
            return word
    own = [name for name in dict.fromkeys(name for name, _ in gap.missing) if not is_fact_of_the_shop(name)]
    names = own or [name for name, _ in gap.missing]
    return plain_fact(names[0]) if names else gap.rules[0]


def other_rows(found: Sequence[Gap]) -> tuple[str, ...]:
    """Return a row for each thing that is too vague, with all that it is of, and one for all that is not known.

    Of several that lack the same, each with another value, no value is told.
    """
    alike: dict[tuple[tuple[str, bool], ...], list[Gap]] = {}
    for gap in found:
        alike.setdefault(tuple((name, value == "unknown") for name, value in gap.missing), []).append(gap)
    rows: list[str] = []
    not_known: dict[str, dict[str, None]] = {}
    for same in alike.values():
        told = {vague_and_unknown(gap) for gap in same}
        subjects = dict.fromkeys(subject for gap in same for subject in gap.subjects)
        if len(told) > 1:
            names = dict.fromkeys(plain_fact(name) for name, _ in same[0].missing)
            rows.append(f"{shortened(tuple(subjects), _MOST_REFS)}: {', '.join(names)} not known exactly")
            continue
        ((vague, unknown),) = told
        if not vague:
            not_known.setdefault(unknown, {}).update(subjects)
            continue
        lack = "; ".join(piece for piece in (vague, f"{unknown} not known" if unknown else "") if piece)
        rows.append(f"{shortened(tuple(subjects), _MOST_REFS)}: {lack}")
    lacks = [
        f"{shortened(tuple(subjects), _MOST_REFS)}: {unknown} not known" for unknown, subjects in not_known.items()
    ]
    return capped([*(["; ".join(lacks)] if lacks else []), *rows])


def capped(rows: Sequence[str]) -> tuple[str, ...]:
    """Return rows, where there are too many the first and the number of the rest."""
    if len(rows) <= MOST_ROWS:
        return tuple(rows)
    return (*rows[: MOST_ROWS - 1], f"and {len(rows) - MOST_ROWS + 1} more")
