"""What the customer is asked: one question a cause, in three groups, in his language and words, each with a key."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Final

from msgspec import Struct, field
from msgspec.structs import replace

from capcheck.checking import Report
from capcheck.engine import Finding
from capcheck.lexicon import Catalogue, customers_catalogue, template_fields
from capcheck.model import Decision, Discrepancy, Severity
from capcheck.report.questions.causes import Cause, causes, stepped_refs
from capcheck.report.questions.part_rows import ASKED_DIGITS, Parts, Row, identity, part_rows, short_hash
from capcheck.report.questions.question_types import QuestionType, question_types
from capcheck.report.sentences import base_name
from capcheck.values import first_circuit, in_ranges, number_of, refs_of_subject, shortened

GROUPS: Final = (Severity.STOP, Severity.ASSUMED, Severity.ADVICE)
"""In the order in which they are told: we cannot start, we quote on this assumption, advice."""


class Question(Struct, frozen=True):
    """One question in the customer's language.

    *key* is the same in every run on the same cause, so that an answer finds its question. *refs* is the whole list,
    runs as one text; *where* names the customer's own file.
    """

    key: str
    group: Severity
    ask: str
    boxes: tuple[str, ...]
    otherwise: str
    refs: tuple[str, ...] = ()
    rows: tuple[Row, ...] = ()
    where: str = ""
    type: str = ""
    asked: str = ""
    """The same in every run that asks the same: an answer to anything else is refused."""
    numbers: tuple[int, ...] = ()
    """Which of its type's boxes each box is, from 0."""
    values: Mapping[str, object] = {}
    """What makes it a question of its own."""
    every: tuple[str, ...] = ()
    """The designators one by one, of all rows."""
    rules: tuple[str, ...] = ()
    """The rules whose findings raise it."""
    settle: str = ""
    """The line of board.toml by which a reading that is asked can be confirmed; empty where there is none."""

    @property
    def code(self) -> str:
        """Its key with the version of what is asked, for a text that comes back."""
        return f"{self.key}/{self.asked}"


class _Gathered(Struct):
    """What is gathered for one question; its words are made when all of it is there."""

    type: str
    values: Mapping[str, object]
    group: Severity
    refs: dict[str, None] = field(default_factory=dict)
    sides: dict[str, None] = field(default_factory=dict)
    causes: list[Cause] = field(default_factory=list)

    @property
    def key(self) -> str:
        """The type, and a short hash of what makes this question one of its own."""
        told = [identity(self.values[name]) for name in _type(self.type).by]
        return f"{self.type}-{short_hash(*told)}" if told else self.type


def questions(report: Report) -> list[Question]:
    """Return every question to the customer: first what stops the order, then what is assumed, then advice."""
    catalogue, parts = customers_catalogue(), _parts(report)
    asked = [_worded(g, catalogue, parts) for g in _gathered(report, parts)]
    return sorted(asked, key=lambda question: GROUPS.index(question.group))


def questions_by_key(report: Report) -> dict[str, Question]:
    """Return every question to the customer by its key."""
    return {question.key: question for question in questions(report)}


class Outlook(Struct, frozen=True):
    """How many questions there are, how many must be answered before anything starts, and the first few of these."""

    count: int
    blocking: int
    first: tuple[Question, ...]
    refs: frozenset[str]
    """The parts that the first few name."""
    about: frozenset[str]
    """What the first few are about, as the findings on the data name their subjects."""
    told: frozenset[tuple[str, str]]
    """Each type of question with each part of which the first few ask it, or ask more."""
    readings: frozenset[str]
    """The types of which the first few leave nothing to ask."""
    of_all: frozenset[str]
    """What the first few cover of every part, since they ask for a whole list."""

    def tells(self, finding: Finding) -> bool:
        """Whether the first few say all of a finding on parts, or on the board as a whole."""
        ref, type_ = finding.subject.ref, question_types().of_rule(finding.rule)
        if finding.subject.kind == "board":
            return type_ in self.readings
        told = (type_ in self.of_all or (type_, one) in self.told for one in refs_of_subject(ref or ""))
        return ref is not None and all(told)

    def is_on(self, question: Question, decisions: Iterable[Decision]) -> bool:
        """Whether a question, or one that it covers, asks what one of the decisions leaves open."""
        types = {question_types().of_record(decision.choice, decision.topic) for decision in decisions}
        return not types.isdisjoint((question.type, *_type(question.type).covers))

    def asks_of(self, told: Discrepancy) -> bool:
        """Whether the first few ask, of each part that a discrepancy is about, what it leaves open, or more."""
        type_ = question_types().of_record(told.said, told.topic)
        return bool(told.refs) and all((type_, ref) in self.told for ref in told.refs)

    def settles(self, decision: Decision) -> bool:
        """Whether the first few ask what a decision leaves open."""
        return question_types().of_record(decision.choice, decision.topic) in self.readings


def outlook_of_questions(report: Report, most: int = 3) -> Outlook:
    """Return what a head of a report says of the questions, wording no more than *most* of them."""
    parts = _parts(report)
    gathered = _gathered(report, parts)
    blocking = [one for one in gathered if one.group is GROUPS[0]]
    catalogue, shown = customers_catalogue() if blocking else None, blocking[:most]
    types = [(one, type_) for one in shown for type_ in (one.type, *_type(one.type).covers)]
    return Outlook(
        count=len(gathered),
        blocking=len(blocking),
        first=tuple(_worded(one, catalogue, parts) for one in shown) if catalogue else (),
        refs=frozenset(ref for one in shown for ref in one.refs),
        about=frozenset(shortened(cause.refs) for one in shown for cause in one.causes if cause.refs),
        told=frozenset((type_, ref) for one, type_ in types for ref in one.refs),
        readings=frozenset(type_ for _, type_ in types) - {one.type for one in gathered if one not in shown},
        of_all=frozenset(type_ for one in shown if not one.refs for type_ in _type(one.type).covers),
    )


def questions_asked(report: Report) -> int:
    """Return how many questions to the customer a report asks."""
    return len(_gathered(report, _parts(report)))


def _parts(report: Report) -> Parts:
    board = report.board
    types = [*zip(board.placements.ref, board.placements.part_type.tolist(), strict=True)]
    names = {ref: board.types[index] for ref, index in types if index >= 0}
    every = stepped_refs(board)
    unmounted = frozenset(
        first_circuit(ref, every) for ref, index in types if index >= 0 and board.bodies[index].mounting is None
    )
    return Parts(every, names, unmounted)


def _type(name: str) -> QuestionType:
    return question_types().types[name]


def _gathered(report: Report, parts: Parts) -> list[_Gathered]:
    """Return the causes of one question together, in the order of the types; what another one covers is left out."""
    found: dict[str, _Gathered] = {}
    folders = {file.path.removesuffix(base_name(file.path)) for file in report.inputs} - {""}
    for cause in causes(report):
        kind = _type(cause.type)
        if kind.needs == "no outline" and report.board.outline is not None:
            continue
        values = {"file": base_name(cause.place.file) if cause.place else "", **cause.values}
        own = {name: _file_named(values.get(name, ""), folders) for name in kind.by}
        one = _Gathered(cause.type, own, cause.group)
        one = found.setdefault(one.key, one)
        one.group = min(one.group, cause.group, key=GROUPS.index) if kind.group is None else kind.group
        one.refs |= dict.fromkeys(parts.first(cause.refs))
        one.sides |= dict.fromkeys([cause.side] if cause.side else [])
        one.causes.append(cause)
    order = list(question_types().types)
    kept = _uncovered(found.values(), parts)
    if report.answered:
        kept = [one for one in kept if _is_open(one, report, parts)]
    return sorted(kept, key=lambda g: (order.index(g.type), g.key))


def _is_open(one: _Gathered, report: Report, parts: Parts) -> bool:
    """Whether anything of a question is not answered yet; what is answered of its parts is taken out of it."""
    catalogue = customers_catalogue()
    rows = (
        part_rows(one.key, one.type, one.causes, one.refs, catalogue=catalogue, parts=parts)
        if _type(one.type).listed
        else ()
    )
    closed = [row for row in rows if (row.key, row.asked) in report.answered]
    if rows and len(closed) == len(rows):
        return False
    if closed:
        names, gone = {row.key for row in closed}, {ref for row in closed for ref in row.every}
        if _type(one.type).pairs:
            one.causes = [cause for cause in one.causes if not gone.issuperset(parts.first(cause.refs))]
        else:
            left = [(c, tuple(ref for ref in c.refs if not gone.issuperset(parts.first([ref])))) for c in one.causes]
            one.causes = [replace(cause, refs=refs) for cause, refs in left if refs or not cause.refs]
            one.causes = [
                c for c in one.causes if c.refs or f"{one.key}:{short_hash(_reason(c, catalogue))}" not in names
            ]
        one.refs = {ref: None for cause in one.causes for ref in parts.first(cause.refs)}
    return (one.key, _worded(one, catalogue, parts).asked) not in report.answered


def _reason(cause: Cause, catalogue: Catalogue) -> str:
    """Return what the key of a row without designators is made of."""
    return identity(cause.said) if cause.said is not None and catalogue.phrase(cause.said) else cause.part


def _file_named(value: object, folders: Iterable[str]) -> object:
    """Return a file beside those that were read by its name alone: the customer knows no folder of our disk."""
    if isinstance(value, str) and any(map(value.startswith, folders)):
        return base_name(value)
    return value


def _uncovered(found: Iterable[_Gathered], parts: Parts) -> list[_Gathered]:
    """Return the questions without the parts of which another one asks more; without those that have none left.

    A question on the board covers the whole of another one; one on parts covers a pair where it is about both.
    """
    every = list(found)
    for one in every:
        for other in every:
            if one.causes and other.type in _type(one.type).covers and _are_alike(one, other):
                own = set(one.refs)
                other.causes = [c for c in other.causes if not _covers(one, own, parts.first(c.refs))]
                left = {ref: None for cause in other.causes for ref in parts.first(cause.refs)}
                other.refs = left if _type(other.type).pairs else {ref: None for ref in left if ref not in own}
    return [one for one in every if one.causes]


def _are_alike(one: _Gathered, other: _Gathered) -> bool:
    """Whether two questions are about the same, where both are of one thing among several, such as two files."""
    own, others = ({identity(value) for value in question.values.values()} for question in (one, other))
    return not own or not others or own == others


def _covers(one: _Gathered, own: set[str], refs: Sequence[str]) -> bool:
    """Whether a question on these parts, on the board, or on files says all of another one's cause."""
    return own.issuperset(refs) if own and refs else not own or bool(one.values)


def _worded(gathered: _Gathered, catalogue: Catalogue, parts: Parts) -> Question:
    kind, wording = _type(gathered.type), catalogue.questions[gathered.type]
    refs = tuple(sorted(gathered.refs, key=number_of))
    rows = (
        part_rows(gathered.key, gathered.type, gathered.causes, gathered.refs, catalogue=catalogue, parts=parts)
        if kind.listed
        else ()
    )
    values: dict[str, object] = {
        **_type(gathered.type).usual,
        **gathered.causes[0].values,
        **gathered.values,
        "n": len(refs),
        "kinds": len(rows),
        "sides": sorted(gathered.sides, reverse=True),
    }
    # What is assumed as a rule stops the order where it is a guess.
    waits = gathered.group is Severity.STOP and kind.group is None
    ask, where = catalogue.filled(wording.ask, values), "" if rows else _where(gathered.causes, catalogue)
    filled = (catalogue.filled(box, values) if _has_all(box, values) else "" for box in wording.boxes)
    boxes = {number: box for number, box in enumerate(filled) if box}
    said = {identity(cause.said): None for cause in gathered.causes if cause.said is not None}
    own = [f"{name}={identity(value)}" for name, value in sorted(gathered.values.items())]
    settles = {cause.settle for cause in gathered.causes}
    return Question(
        gathered.key,
        gathered.group,
        ask,
        tuple(boxes.values()),
        catalogue.paper["waiting"] if waits else catalogue.filled(wording.otherwise, values),
        () if rows else tuple(in_ranges(refs)),
        rows,
        where if where not in ask else "",
        type=gathered.type,
        asked=short_hash(gathered.type, *own, *refs, *(row.asked for row in rows), *sorted(said), digits=ASKED_DIGITS),
        numbers=tuple(boxes),
        values={**gathered.causes[0].values, **gathered.values},
        every=refs,
        rules=tuple(sorted({cause.rule for cause in gathered.causes if cause.rule})),
        settle=settles.pop() if len(settles) == 1 else "",
    )


def _has_all(template: str, values: Mapping[str, object]) -> bool:
    """Whether no value of a box is empty: what nobody thought of cannot be ticked."""
    return all(name is None or values.get(name, "") != "" for _, name, _ in template_fields(template))


def _where(causes_: Sequence[Cause], catalogue: Catalogue) -> str:
    """Return the customer's file that a question comes from, with the row where it is one; empty for several files."""
    places = {(base_name(c.place.file), c.place.row) for c in causes_ if c.said is not None and c.place is not None}
    files = {file for file, _ in places}
    if len(files) != 1:
        return ""
    ((file, row),) = places if len(places) == 1 else ((*files, None),)
    return catalogue.filled(catalogue.paper["row" if row else "file"], {"file": file, "row": row})
