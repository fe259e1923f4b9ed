"""The answer on one screen: the verdict, what stops it, what the rest depends on, what is open, one line a cause.

Everything else is one step away (``--full``); what is not named here is counted.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Final

from msgspec import Struct

from capcheck.checking import Report
from capcheck.lexicon import in_short, sentence
from capcheck.model import Body, Said
from capcheck.report.groups import Gap, Group, decided_groups, gaps
from capcheck.report.questions import Outlook, outlook_of_questions
from capcheck.report.sentences import (
    OPEN_GAPS,
    accepted,
    by_hand,
    closest,
    is_fact_of_the_shop,
    not_placed,
    noted,
    pairs_that_may_touch,
    plain_fact,
    size_of,
    unanswered,
    vague_and_unknown,
)
from capcheck.values import counted, shortened

_READING: Final = "reading"
"""The tag of rules on how the files are read: what they leave open decides the other answers."""
_DATA: Final = "data"
_OPEN_READINGS: Final = "board.open_decisions"
_MOST_ROWS: Final = 8
_MOST_TYPES: Final = 5
_MOST_REFS: Final = 6
_MOST_NEAR: Final = 3
_NEAR: Final = 0.05
"""A margin of more than this share of its limit is told with the full report only."""
_LACKING: Final[Sequence[tuple[str, frozenset[str]]]] = (
    ("whether it is a part", frozenset({"part.is_part"})),
    ("nothing known", frozenset({"part.mounting", "part.length"})),
    ("how mounted", frozenset({"part.mounting"})),
    ("size", frozenset({"part.length"})),
    ("size", frozenset({"part.width"})),
    ("size", frozenset({"part.nominal_length"})),
    ("height", frozenset({"part.height"})),
    ("balls", frozenset({"part.ball_diameter"})),
    ("pitch or leads", frozenset({"part.pitch"})),
    ("pitch or leads", frozenset({"part.lead_width"})),
    ("pitch or leads", frozenset({"part.lead_style"})),
    ("packaging", frozenset({"part.supply"})),
    ("where it lies", frozenset({"part.located"})),
    ("how far from the contour", frozenset({"part.contour_distance"})),
    ("how far from the leading edge", frozenset({"part.leading_distance"})),
)
"""What a part lacks, in a word: the first of these whose facts are all missing."""


_CONTRADICTIONS: Final[Mapping[str, Callable[[Body], Sequence[Said]]]] = {
    "part.fits_land": lambda body: body.misfits,
    "part.sources_agree": lambda body: body.conflicts_of_texts,
}
"""What contradicts one another in a body, by the fact that asks for it."""


class Section(Struct, frozen=True):
    """A heading with its rows, one a cause; *style* is that of the headings of what fails or warns."""

    title: str
    rows: tuple[str, ...]
    style: str = "head"


class FirstScreen(Struct, frozen=True):
    """What was checked, the verdict, the board in numbers, and the sections in the order of what they cost."""

    title: str
    verdict: str
    numbers: str
    sections: tuple[Section, ...]
    further: tuple[str, ...]
    """What else there is, and how to see it."""


def first_screen(report: Report) -> FirstScreen:
    """Return what a reader needs first of a report."""
    live = [f for f in report.findings if not f.waived]
    outlook = outlook_of_questions(report)
    asked = outlook.count
    untold = [f for f in live if f.outcome != "warn" or f.subject.kind != _DATA or f.subject.ref not in outlook.about]
    groups, lacks = decided_groups(untold, report.line), gaps(live)
    tags = {rule.id: rule.tags for rule in report.answers.rules}

    def of(outcome: str, wanted: Callable[[Sequence[str]], bool] = lambda _: True) -> list[Group]:
        return [g for g in groups if g.outcome == outcome and wanted(tags.get(g.rule, ()))]

    facts = {rule.id: rule.facts for rule in report.answers.rules}
    # What is open is told by its own row, and overlaps that nobody can rule out are a number beneath all that is asked.
    of_reading = [g for g in of("warn", _on_reading) if _OPEN_READINGS not in facts[g.rule]]
    of_files = [g for g in of("warn", _on_files) if OPEN_GAPS not in facts[g.rule]]
    of_parts = [gap for gap in lacks if _is_of_parts(gap)]
    sections = (
        Section("Stops it", _causes(report, of("fail")), "fail"),
        Section("Ask before anything starts", _first_questions(outlook)),
        Section("Settle first: the rest depends on it", (*_open_readings(report), *_causes(report, of_reading))),
        Section(_title_of_undecided(of_parts), tuple(_lacking_parts(of_parts))),
        Section("Also undecided", _other_gaps([gap for gap in lacks if not _is_of_parts(gap)])),
        Section(
            "The files leave open",
            _causes(report, of_files),
            "warn",
        ),
        Section("Look at", _causes(report, of("warn", _on_design)), "warn"),
        Section("Nearest to a limit, among what passes", _near_limits(report)),
        Section(
            "Not machine-placed",
            tuple(f"{words}: {shortened(refs, _MOST_REFS)} ({len(refs)})" for words, refs in not_placed(report.board)),
        ),
        Section("Accepted by a waiver", _capped([f"{subjects}: {why}" for _, subjects, why in accepted(report)])),
    )
    return FirstScreen(
        title=report.board.name + (f" on {report.line.name}" if report.line else ""),
        verdict=_verdict(report, asked),
        numbers=_numbers(report),
        sections=tuple(section for section in sections if section.rows),
        further=tuple(_further(report, asked)),
    )


def _first_questions(outlook: Outlook) -> tuple[str, ...]:
    """Return the first of the questions without whose answers nothing starts, and how many of them there are more."""
    rows = []
    for question in outlook.first:
        refs = question.refs or tuple(ref for row in question.rows for ref in row.refs)
        named = f"{question.rows[0].name}: " if len(question.rows) == 1 and question.rows[0].name else ""
        rows.append(f"{question.ask}{f' ({named}{shortened(refs, _MOST_REFS)})' if refs else ''}")
    left = outlook.blocking - len(rows)
    return (*rows, f"and {counted(left, 'more question', 'more questions')} of this kind") if left else tuple(rows)


def _on_reading(tags: Sequence[str]) -> bool:
    return _READING in tags


def _on_files(tags: Sequence[str]) -> bool:
    return _DATA in tags and _READING not in tags


def _on_design(tags: Sequence[str]) -> bool:
    return _DATA not in tags and _READING not in tags


def _verdict(report: Report, asked: int) -> str:
    """Return the verdict in one sentence: that a board builds is said only where all was asked and is decided."""
    totals = report.totals
    open_ = totals.undecided + totals.waiting
    ask = f"; {counted(asked, 'question')} to ask" if asked else ""
    if report.verdict == "unanswered":
        return f"not answered, so nothing is proved: {unanswered(report)}"
    if report.verdict == "fail":
        stops = len({f.rule for f in report.findings if f.outcome == "fail" and not f.waived})
        return f"does not build: {counted(stops, 'thing stops', 'things stop')} it{ask}"
    if report.line is None:
        return f"no line was named; the files alone were looked at{ask}"
    besides = f", {counted(open_, 'check')} undecided" if open_ else ""
    if totals.known:
        return f"nothing new or worse stops it, {counted(totals.known, 'finding')} known from before{besides}{ask}"
    panel = sentence(report.in_panel.said) if report.in_panel else ""
    if report.selected or report.answers.skipped:
        return f"nothing that was asked stops it{panel and f' {panel}'}{besides}{ask}"
    way = f"builds {panel or 'as sent'}"
    return f"{way} if {counted(open_, 'undecided check passes', 'undecided checks pass')}{ask}" if open_ else way + ask


def _numbers(report: Report) -> str:
    """Return parts by what comes out for them, board, slots: what the verdict rests on."""
    board = report.board
    placements = board.placements
    parts = [ref for ref, is_part in zip(placements.ref, placements.is_part.tolist(), strict=True) if is_part]
    open_, failed = _parts_with(report, undecided=True), _parts_with(report, undecided=False)
    hand = set(by_hand(board)) - failed - open_
    bottom = int((placements.is_part & (placements.side == 1)).sum())
    proved = sum(ref not in open_ and ref not in failed and ref not in hand for ref in parts)
    pieces = [
        f"{counted(len(parts), 'part')}" + (f" ({bottom} on the bottom)" if bottom else ""),
        f"{proved} proved placeable" if report.line else "",
        f"{len(failed)} not placeable" if failed else "",
        f"{len(open_ - failed)} undecided" if open_ - failed else "",
        f"{len(hand)} by hand" if hand else "",
        f"board {size_of(board)}",
        *_slots(report),
    ]
    return ", ".join(piece for piece in pieces if piece)


def _parts_with(report: Report, *, undecided: bool) -> set[str]:
    """Return the references of the parts with an undecided answer, or with one that fails."""
    return {
        f.subject.ref
        for f in report.findings
        if f.subject.ref and f.subject.kind.startswith("part") and not f.waived
        if (f.undecided if undecided else f.outcome == "fail")
    }


def _slots(report: Report) -> Iterator[str]:
    if report.line is None:
        return
    needed, there = (report.session.numbers(f"line.feeder_slots{end}") for end in ("_needed", ""))
    if needed.low[0] == needed.high[0] and there.low[0] == there.high[0]:
        yield f"{needed.low[0]:g} of {there.low[0]:g} feeder slots"


def _causes(report: Report, groups: Sequence[Group]) -> tuple[str, ...]:
    """Return a row for each rule; where there are too many, the last row counts the rest."""
    by_rule: dict[str, list[Group]] = {}
    for group in groups:
        by_rule.setdefault(group.rule, []).append(group)
    rows = [_cause(report, same) for same in by_rule.values()]
    if len(rows) <= _MOST_ROWS:
        return tuple(rows)
    rest = list(by_rule.values())[_MOST_ROWS - 1 :]
    subjects = tuple(dict.fromkeys(s for same in rest for g in same for s in g.subjects))
    more = f"and {counted(len(rest), 'more cause', 'more causes')}: {shortened(subjects, _MOST_REFS)}"
    return (*rows[: _MOST_ROWS - 1], more)


def _cause(report: Report, same: Sequence[Group]) -> str:
    """Return whom the first sentence is about with that sentence, and how many sentences more there are."""
    first = same[0]
    texts = list(dict.fromkeys(group.text for group in same))
    # What is said of the first is said of those alone who share its sentence.
    subjects = tuple(dict.fromkeys(s for group in same if group.text == first.text for s in group.subjects))
    more = f" (and {len(texts) - 1} more)" if len(texts) > 1 else ""
    label = f" ({first.label})" if len(same) == 1 and first.label and first.label not in first.text else ""
    about = "" if first.names_itself else f"{shortened(subjects, _MOST_REFS)}{label}: "
    since = f" [{first.since}]" if first.since else ""
    return f"{about}{_in_short(report, first)}{more}{since}"


def _in_short(report: Report, group: Group) -> str:
    """Return what a group says, of sources that contradict one another without how each was read."""
    named = {value.name for value in group.findings[0].facts}
    told = next((told for fact, told in _CONTRADICTIONS.items() if fact in named), None)
    ref = group.findings[0].subject.ref
    if told is None or ref is None:
        return group.text
    row = list(report.board.placements.ref).index(ref)
    body = report.board.bodies[int(report.board.placements.part_type[row])]
    return "; ".join(sentence(in_short(said)) for said in told(body)) or group.text


def _open_readings(report: Report) -> tuple[str, ...]:
    """Return the inferences that are open, each with what else could be meant."""
    return tuple(
        f"{decision.topic}? {sentence(decision.choice)}"
        + (f"; or {sentence(decision.runner_up)}" if sentence(decision.runner_up) else "")
        for decision in report.board.decisions
        if decision.open
    )


def _is_of_parts(gap: Gap) -> bool:
    return all(f.subject.ref is not None and f.subject.kind.startswith("part") for f in gap.findings)


def _title_of_undecided(found: Sequence[Gap]) -> str:
    types = {f.part_type or f.group for gap in found for f in gap.findings}
    parts = {s for gap in found for s in gap.subjects}
    return f"Undecided for want of data ({counted(len(types), 'type')}, {counted(len(parts), 'part')})"


def _lacking_parts(found: Sequence[Gap]) -> Iterator[str]:
    """Return a row for each kind of datum that parts lack, with the types that lack it, the most frequent first."""
    lacking: dict[str, dict[str, str]] = {}
    for gap in found:
        own = lacking.setdefault(_in_a_word(gap), {})
        own.update((f.subject.ref or "", f.group or f.part_type) for f in gap.findings)
    rows = sorted(lacking.items(), key=lambda item: -len(item[1]))
    yield from (_lacking_row(word, types) for word, types in rows[:_MOST_ROWS])
    if len(rows) > _MOST_ROWS:
        left = {ref for _, types in rows[_MOST_ROWS:] for ref in types}
        yield f"other data: {counted(len(left), 'part')}: {shortened(tuple(left), _MOST_REFS)}"


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


def _other_gaps(found: Sequence[Gap]) -> tuple[str, ...]:
    rows = []
    for gap in found:
        vague, unknown = vague_and_unknown(gap)
        lack = "; ".join(piece for piece in (vague, f"{unknown} not known" if unknown else "") if piece)
        rows.append(f"{gap.refs(_MOST_REFS)}: {lack}")
    return _capped(rows)


def _capped(rows: Sequence[str]) -> tuple[str, ...]:
    """Return rows, where there are too many the first and the number of the rest."""
    if len(rows) <= _MOST_ROWS:
        return tuple(rows)
    return (*rows[: _MOST_ROWS - 1], f"and {len(rows) - _MOST_ROWS + 1} more")


def _near_limits(report: Report) -> tuple[str, ...]:
    """Return the limits of machines that are nearly reached; at the limit itself there is nothing more to lose."""
    near = [c for c in closest(report) if 0 < c.share <= _NEAR and c.tightest.subject.head is not None]
    return tuple(c.text for c in near[:_MOST_NEAR])


def _further(report: Report, asked: int) -> Iterator[str]:
    """Return what else the report holds, as counts with the way to them."""
    taken = [decision for decision in report.board.decisions if not decision.open]
    if taken:
        topics = ", ".join(dict.fromkeys(str(decision.topic) for decision in taken))
        yield f"Taken from the files by inference: {topics} (evidence: capcheck read)"
    yield from filter(None, [pairs_that_may_touch(report)])
    yield from (noted(note) for note in report.notices)
    pieces = [f"{counted(asked, 'question')} for the customer: --format questions"] if asked else []
    yield "; ".join([*pieces, "all checks, margins and sources: --full", "picture: --format html"])
