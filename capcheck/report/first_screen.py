"""The answer on one screen: the verdict, what stops it, what the rest depends on, what is open, one line a cause.

Everything else is one step away (``--full``); what is not named here is counted.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from types import MappingProxyType
from typing import Final

from msgspec import Struct
from msgspec.structs import replace

from capcheck.checking import Report, files_of, names_for_others, parts_by_outcome, renamed
from capcheck.engine import Finding
from capcheck.facts import OPEN_GAPS, contour_doubted, doubted_by
from capcheck.lexicon import in_short, sentence
from capcheck.model import Decision, Topic
from capcheck.report.board_in_numbers import board_in_numbers
from capcheck.report.groups import Gap, Group, decided_groups, gaps
from capcheck.report.questions import Outlook, outlook_of_questions, type_of_rule
from capcheck.report.rows_of_gaps import (
    MOST_ROWS,
    capped,
    is_of_parts,
    other_rows,
    rows_of_parts,
    title_of_undecided,
    words_of_parts,
)
from capcheck.report.sentences import (
    accepted,
    bare_pads,
    not_placed,
    noted,
    pairs_that_may_touch,
    unanswered,
)
from capcheck.report.told_once import (
    CONTRADICTIONS,
    SIZES,
    follows_from_heights,
    named_briefly,
    open_readings,
    unclear_bodies,
    without_advice,
    without_our_rails,
)
from capcheck.values import counted, number_of, shortened

FIRST_QUESTIONS: Final = "Ask before anything starts"
_READING: Final = "reading"
"""The tag of rules on how the files are read: what they leave open decides the other answers."""
_DATA: Final = "data"
_KIND: Final = "data.kind"
_SET_UP: Final = "set-up"
"""The tag of rules on what the shop sees to when it sets the line up: a count, and the full report."""
_OPEN_READINGS: Final = "board.open_decisions"
_SPACING: Final = "spacing"
_PLACES: Final = "board.places_certain"
_HAS_OUTLINE: Final = "board.has_outline"
_OUTLINE: Final = "outline"
_NEEDS_PANEL: Final = "board-passes-line"
_INPUTS: Final = {"bom": "BOM", _OUTLINE: "outline (size and edges not checked)"}
_MOST_REFS: Final = 6


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
    groups = decided_groups(_untold(report, live, outlook), report.line)
    lacks = _unasked(report, outlook, without_our_rails(report, gaps(live)))
    tags = {rule.id: rule.tags for rule in report.answers.rules}

    def of(outcome: str, wanted: Callable[[Sequence[str]], bool] = lambda _: True) -> list[Group]:
        return [g for g in groups if g.outcome == outcome and wanted(tags.get(g.rule, ()))]

    facts = {rule.id: rule.facts for rule in report.answers.rules}
    # What is open is told by its own row, and overlaps that nobody can rule out are a number beneath all that is asked.
    untold = {_OPEN_READINGS, *_told_elsewhere(report, outlook)}
    of_reading = [g for g in of("warn", _on_reading) if untold.isdisjoint(facts[g.rule])]
    of_files = [g for g in of("warn", _on_files) if OPEN_GAPS not in facts[g.rule]]
    of_design = of("warn", _on_design)
    of_parts, perhaps = without_advice(filter(is_of_parts, lacks), of_design)
    # A part that lacks something, and of which it is unclear which body it has, is one row with both.
    words = words_of_parts(of_parts, outlook.refs)
    of_bodies = unclear_bodies(of_files, words)
    bodies = {ref for group in of_bodies for ref in group.subjects}
    of_files = [group for group in of_files if group not in of_bodies]
    named = {*outlook.refs, *words}
    others = [g for g in lacks if not is_of_parts(g) and not follows_from_heights(report, g, named)]
    sections = (
        Section("Stops it", _causes(report, of("fail"), remedies=True), "fail"),
        Section(FIRST_QUESTIONS, _first_questions(report, outlook, {g.rule for g in of("fail")})),
        Section(
            "Settle first: the rest depends on it", (*open_readings(report, outlook), *_causes(report, of_reading))
        ),
        Section(
            title_of_undecided(of_parts, outlook.refs),
            (
                *rows_of_parts(of_parts, outlook.refs | bodies),
                *(_open_body(report, group, words) for group in of_bodies),
            ),
        ),
        Section("Also undecided", other_rows(others)),
        Section("Unclear in the files", _causes(report, of_files), "warn"),
        Section("For review", _causes(report, of_design, perhaps), "warn"),
        Section(
            "Not machine-placed",
            tuple(f"{words}: {shortened(refs, _MOST_REFS)} ({len(refs)})" for words, refs in not_placed(report)),
        ),
        Section("Accepted by a waiver", capped([f"{subjects}: {why}" for _, subjects, why in accepted(report)])),
    )
    return FirstScreen(
        title=report.board.name + (f" on {report.line.name}" if report.line else ""),
        verdict=_verdict(report, asked),
        numbers=board_in_numbers(report),
        sections=tuple(section for section in sections if section.rows),
        further=tuple(_further(report, asked, len(of("warn", _on_set_up)))),
    )


def _untold(report: Report, live: Sequence[Finding], outlook: Outlook) -> list[Finding]:
    """Return the findings without warnings that another row says, and without sizes that leave nothing open.

    A question says some, and that pads are bare stands among what is not placed.

    What is taken of a size that can be read in several ways is all of them: where every check passes, nobody waits.
    """
    waiting = {f.subject.ref for f in live if f.undecided}
    bare = set(bare_pads(report.board))
    lacking = [told.refs for told in report.board.discrepancies if told.topic is Topic.NOT_IN_BOM]
    pads = {shortened(refs) for refs in lacking if bare.issuperset(refs)}
    # Whether a part is fitted at all comes before which number it has.
    asked = {(told.topic.value, shortened(told.refs)) for told in report.board.discrepancies if outlook.asks_of(told)}

    def is_told(f: Finding) -> bool:
        if f.subject.kind == _DATA:
            return f.subject.ref in outlook.about or f.subject.ref in pads or (_kind(f), f.subject.ref) in asked
        return outlook.tells(f) or (f.rule == SIZES and f.subject.ref not in waiting)

    return [f for f in live if f.outcome != "warn" or f.undecided or not is_told(f)]


def _kind(finding: Finding) -> str | None:
    """Return the topic of the record that a finding on the data tells."""
    return next((value.text for value in finding.facts if value.name == _KIND), None)


def _told_elsewhere(report: Report, outlook: Outlook) -> Iterator[str]:
    """Yield the facts whose findings on the reading of files say what the verdict or a question says by itself."""
    if _asked_places(report, outlook):
        yield _PLACES
    if _names_what_lacks(report) and _OUTLINE in report.answers.skipped:
        yield _HAS_OUTLINE


def _asked_places(report: Report, outlook: Outlook) -> bool:
    """Whether the first questions ask all for which places on the board are not judged."""
    doubts = _doubts_of_places(report)
    return bool(doubts) and all(map(outlook.settles, doubts))


def _doubts_of_places(report: Report) -> list[Decision]:
    topics = doubted_by(report.board)
    return [decision for decision in report.board.decisions if decision.open and decision.topic in topics]


def _unasked(report: Report, outlook: Outlook, lacks: Sequence[Gap]) -> list[Gap]:
    """Return the gaps without what the contour tells, where one of the first questions asks for the contour."""
    if not (contour_doubted(report.board) and _asked_places(report, outlook)):
        return list(lacks)
    facts = report.session.catalogue
    left = [replace(g, missing=tuple(m for m in g.missing if facts[m[0]].needs != _OUTLINE)) for g in lacks]
    return [one for one, gap in zip(left, lacks, strict=True) if one.missing or not gap.missing]


def _first_questions(report: Report, outlook: Outlook, failing: Collection[str]) -> tuple[str, ...]:
    """Return the first of the questions without whose answers nothing starts, and how many of them there are more.

    What a *failing* rule asks stands above as what stops it.
    """
    rows, placed = [], set(report.board.placements.ref)
    asked = {type_of_rule(rule) for rule in failing}
    told = [question for question in outlook.first if question.key not in asked]
    doubts = _doubts_of_places(report) if _asked_places(report, outlook) else []
    last = next((question for question in reversed(told) if outlook.is_on(question, doubts)), None)
    for question in told:
        refs = question.refs or tuple(ref for row in question.rows for ref in row.refs or row.every)
        name = question.rows[0].name if len(question.rows) == 1 else ""
        if name in placed and name not in refs:  # the other of two parts
            refs, name = (name, *refs), ""
        named = f"{name}: " if name and (name,) != refs else ""
        then = " Until then distances to edges and cut-outs are not judged." if question is last else ""
        rows.append(f"{question.ask}{f' ({named}{shortened(refs, _MOST_REFS)})' if refs else ''}{then}")
    left = outlook.blocking - len(outlook.first)
    return (*rows, f"and {counted(left, 'more question', 'more questions')} of this kind") if left else tuple(rows)


def _on_reading(tags: Sequence[str]) -> bool:
    return _READING in tags


def _on_files(tags: Sequence[str]) -> bool:
    return _DATA in tags and _READING not in tags


def _on_design(tags: Sequence[str]) -> bool:
    return _DATA not in tags and _READING not in tags and _SET_UP not in tags


def _on_set_up(tags: Sequence[str]) -> bool:
    return _SET_UP in tags


def _names_what_lacks(report: Report) -> bool:
    """Whether the verdict names the inputs that were not given."""
    decided = report.verdict in {"fail", "unanswered"} or report.line is None or report.totals.known or report.selected
    return not decided and bool(report.answers.skipped)


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
    if report.selected:
        return f"nothing that was asked stops it{panel and f' {panel}'}{besides}{ask}"
    if _names_what_lacks(report):
        lacks = ", ".join(f"no {_INPUTS.get(name, name)}" for name in report.answers.skipped)
        return f"nothing found stops it{panel and f' {panel}'}, but not all was checked: {lacks}{besides}{ask}"
    way = f"builds {panel or 'as sent'}"
    return f"{way} if {counted(open_, 'undecided check passes', 'undecided checks pass')}{ask}" if open_ else way + ask


def _causes(
    report: Report,
    groups: Sequence[Group],
    perhaps: Mapping[str, tuple[str, ...]] = MappingProxyType({}),
    *,
    remedies: bool = False,
) -> tuple[str, ...]:
    """Return a row for each rule, one for all warnings on spacing; where there are too many, the last counts more.

    *perhaps* are the parts of which a rule leaves it open whether it says the same of them; with *remedies* each row
    ends with what can be done.
    """
    by_rule: dict[str, list[Group]] = {}
    for group in groups:
        too_close = group.outcome == "warn" and type_of_rule(group.rule) == _SPACING
        by_rule.setdefault(_SPACING if too_close else group.rule, []).append(group)
    rows = [
        _cause(report, same)
        + (f" (perhaps also {shortened(also, _MOST_REFS)})" if (also := perhaps.get(same[0].rule, ())) else "")
        + (f" → {same[0].remedy}" if remedies and same[0].remedy else "")
        for same in by_rule.values()
    ]
    if len(rows) <= MOST_ROWS:
        return tuple(rows)
    rest = list(by_rule.values())[MOST_ROWS - 1 :]
    subjects = tuple(dict.fromkeys(s for same in rest for g in same for s in g.subjects))
    more = f"and {counted(len(rest), 'more cause', 'more causes')}: {shortened(subjects, _MOST_REFS)}"
    return (*rows[: MOST_ROWS - 1], more)


def _open_body(report: Report, group: Group, words: Mapping[str, str]) -> str:
    """Return what parts lack with what leaves it open which body they have."""
    lacks = ", ".join(dict.fromkeys(words[ref] for ref in group.subjects))
    return f"{lacks}: {counted(len(group.subjects), 'part')}: {_cause(report, [group])}"


def _cause(report: Report, same: Sequence[Group]) -> str:
    """Return whom the first sentence is about with that sentence, and how many sentences more there are."""
    first = same[0]
    since = f" [{first.since}]" if first.since else ""
    if len({group.rule for group in same}) > 1:
        subjects = tuple(dict.fromkeys(s for group in same for s in group.subjects))
        return f"{shortened(subjects, _MOST_REFS)}: closer together than advised{since}"
    texts = list(dict.fromkeys(group.text for group in same))
    # What is said of the first is said of those alone who share its sentence.
    subjects = tuple(dict.fromkeys(s for group in same if group.text == first.text for s in group.subjects))
    more = f" (and {len(texts) - 1} more)" if len(texts) > 1 else ""
    is_part = first.findings[0].subject.kind.startswith("part")
    label = f" ({first.label})" if is_part and len(same) == 1 and first.label and first.label not in first.text else ""
    about = "" if _says_whom(report, first) else f"{named_briefly(report, subjects)}{label}: "
    return f"{about}{_in_short(report, first)}{more}{since}"


def _says_whom(report: Report, group: Group) -> bool:
    """Whether a sentence says by itself what it is about: it names the first part, or no part at all."""
    subject = group.findings[0].subject
    if subject.kind != _DATA or subject.ref is None:
        return group.names_itself
    titles = {told.title for told in report.board.discrepancies if not told.refs}
    if _kind(group.findings[0]) == Topic.NOT_PLACED:
        return False  # in brackets stands the part number, which may be the designator's own text
    return subject.ref in titles or f"({subject.ref.split(',')[0].split('–')[0]}" in group.text


def _in_short(report: Report, group: Group) -> str:
    """Return what a group says, of sources that contradict one another without how each was read."""
    if group.rule == _NEEDS_PANEL and report.in_panel is not None and report.verdict != "fail":
        return sentence(report.in_panel.as_sent)  # the verdict names the panel
    named = {value.name for value in group.findings[0].facts}
    told = next((told for fact, told in CONTRADICTIONS.items() if fact in named), None)
    ref = group.findings[0].subject.ref
    if told is None or ref is None:
        return group.text
    row = list(report.board.placements.ref).index(ref)
    body = report.board.bodies[int(report.board.placements.part_type[row])]
    texts = "; ".join(sentence(in_short(said)) for said in told(body))
    return renamed(texts, names_for_others(files_of(report))) or group.text


def _further(report: Report, asked: int, set_up: int) -> Iterator[str]:
    """Return what else the report holds, as counts with the way to them."""
    yield from filter(None, [pairs_that_may_touch(report, all_told=False)])
    yield from (noted(note) for note in report.notices)
    pieces = [f"{counted(asked, 'question')} for the customer: --format questions"] if asked else []
    settled = sum(not decision.open for decision in report.board.decisions)
    taken = f" ({counted(settled, 'inference')})" if settled else ""
    notes = f"{counted(set_up, 'note')} on setting up the line, " if set_up else ""
    pieces += [f"how the files were read{taken}: capcheck read", f"{notes}all checks, margins and sources: --full"]
    pieces += ["picture: --format html", *(["cycle time, feeders by slot: capcheck plan"] if report.line else [])]
    open_ = min(parts_by_outcome(report).undecided, key=number_of, default=None)
    # A reference is a customer's text: what a shell would read otherwise is not offered as a command.
    pieces += [f"all that is known of one part: capcheck part {open_}"] if open_ and open_.isalnum() else []
    yield "; ".join(pieces)
