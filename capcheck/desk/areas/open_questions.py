"""What is still open, worst first: each question with how many verdicts hang on it, and what is known of its parts."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Final

from msgspec import Struct

from capcheck.answers import confirming_box
from capcheck.checking import parts_of_types
from capcheck.desk.answers_kept import ToldAnswer
from capcheck.desk.areas.area import Area, Found, Seen
from capcheck.packages import Witnesses, witnesses_of
from capcheck.report import Question, Row, questions_by_key, without_folders
from capcheck.store import BoardKey, PartKey, cell_of
from capcheck.values import refs_of_subject

if TYPE_CHECKING:
    from capcheck.engine import Finding

GROUPS: Final = {"stop": "stops the quote", "assumed": "assumed until answered", "advice": "advice"}
_MOST_WITNESSED: Final = 60
"""Parts of which the witnesses are shown; those on which most hangs come first."""
_MOST_BOARDS: Final = 8


class Witness(Struct, frozen=True):
    """A source, and for each fact what it says with its mark: ``*`` counts, ``=`` agrees, ``!`` contradicts."""

    name: str
    says: tuple[tuple[str, str, str], ...]


class OpenPart(Struct, frozen=True):
    """A part of a question that is answered by itself; *hangs* counts the verdicts that hang on it."""

    key: str
    asked: str
    name: str
    package: str
    refs: tuple[str, ...]
    rows: tuple[int, ...]
    """Where the picture has them."""
    detail: str
    figures: tuple[str, ...]
    hangs: int
    number: PartKey | None
    witnesses: tuple[Witness, ...] = ()
    counts: tuple[tuple[str, str], ...] = ()
    """What counts, by fact."""


class OpenQuestion(Struct, frozen=True):
    """A question: what is asked, what can be ticked, what counts without an answer, and what hangs on it."""

    key: str
    asked: str
    group: str
    ask: str
    boxes: tuple[str, ...]
    accept: str
    """The box that confirms what is assumed; empty where there is none."""
    otherwise: str
    refs: tuple[str, ...]
    rows: tuple[int, ...]
    where: str
    hangs: int
    parts: tuple[OpenPart, ...] = ()


class OpenQuestions(Struct, frozen=True):
    """All questions of the line that suits the board best; *parts* of the board, of which so many are *proved*."""

    board: str
    line: int
    parts: int
    proved: int
    questions: tuple[OpenQuestion, ...]


class GivenThere(Struct, frozen=True):
    """An answer that the shop keeps; *token* names what can be undone at once, empty where that is not kept here."""

    about: str
    text: str
    who: str
    when: str
    token: str


class UsedBefore(Struct, frozen=True):
    """A board on which a part was used, and the figures that its files state: title and text."""

    board: str
    figures: tuple[tuple[str, str], ...]


class Shown(Struct, frozen=True):
    """The questions with what the store has beside them."""

    open: OpenQuestions
    groups: Mapping[str, str]
    quote: int
    """Answers that are wanted before a quote."""
    release: int
    """Answers that are wanted before production."""
    given: tuple[GivenThere, ...]
    with_customer: Mapping[str, str]
    """By key, who gave the question to the customer and when."""
    used: Mapping[str, tuple[UsedBefore, ...]]
    """By the key of a part."""
    known: Mapping[str, tuple[tuple[str, str], ...]]
    """By the key of a part, what the shop's store knows of it."""
    told: Mapping[str, ToldAnswer]
    """What became of the answers just given, by key."""
    elsewhere: tuple[ToldAnswer, ...]
    """Of them those that belong to no question that is open."""
    without_key: tuple[str, ...]
    lacking: tuple[str, ...]


def made(found: Found) -> OpenQuestions:
    """Return every question that is not answered yet, what stops the order first, then by what hangs on each."""
    report = found.asking
    paths = [file.path for file in found.board.inputs]
    open_ = [finding for finding in report.findings if not finding.waived]
    row_of = {ref: row for row, ref in enumerate(found.board.placements.ref)}
    known = _Known(found)
    questions = []
    for one in questions_by_key(report).values():
        parts = tuple(_part(row, one, open_, row_of, known) for row in one.rows)
        questions.append(
            OpenQuestion(
                one.key,
                one.asked,
                str(one.group),
                without_folders(one.ask, paths),
                one.boxes,
                confirming_box(one),
                one.otherwise,
                one.every or one.refs,
                _rows_of(one.every, row_of),
                without_folders(one.where, paths),
                _hanging(open_, one.rules, one.every),
                tuple(sorted(parts, key=lambda part: -part.hangs)),
            )
        )
    order = list(GROUPS)
    questions.sort(key=lambda one: (order.index(one.group) if one.group in order else len(order), -one.hangs))
    best = found.results[found.best] if found.results else None
    parts_of_board = int(found.board.placements.is_part.sum())
    return OpenQuestions(
        found.board.name,
        found.best,
        parts_of_board if best is None else best.parts,
        _proved(open_, parts_of_board) if best is None else best.proved,
        tuple(questions),
    )


def _proved(open_: Sequence[Finding], parts: int) -> int:
    return parts - len({ref for one in open_ if one.undecided for ref in refs_of_subject(one.subject.ref or "") if ref})


def _hanging(open_: Sequence[Finding], rules: Sequence[str], refs: Sequence[str]) -> int:
    """Return how many verdicts other than a pass are about these parts, by these rules; all of either not named."""
    wanted = {*refs}
    return sum(
        (one.rule in rules or (not rules and bool(wanted)))
        and (not wanted or not wanted.isdisjoint(r.partition("/")[0] for r in refs_of_subject(one.subject.ref or "")))
        for one in open_
    )


def _rows_of(refs: Sequence[str], row_of: Mapping[str, int]) -> tuple[int, ...]:
    return tuple(row_of[ref] for ref in refs if ref in row_of)


def _part(row: Row, one: Question, open_: Sequence[Finding], row_of: Mapping[str, int], known: _Known) -> OpenPart:
    key, witnesses = known.of(row.every)
    rules = row.rules or one.rules
    return OpenPart(
        row.key,
        row.asked,
        row.name,
        row.package,
        row.every,
        _rows_of(row.every, row_of),
        row.detail,
        row.figures,
        _hanging(open_, rules, row.every) if row.every else 0,
        key,
        () if witnesses is None else tuple(_witnesses(witnesses)),
        () if witnesses is None else tuple(witnesses.counts.items()),
    )


def _witnesses(found: Witnesses) -> Iterator[Witness]:
    for one in found.witnesses:
        yield Witness(one.name, tuple((fact, cell.text, cell.mark) for fact, cell in one.says.items()))


class _Known:
    """What is known of the parts of a board, asked for a few of them."""

    def __init__(self, found: Found) -> None:
        self._board = board = found.board
        self._library = None if found.libraries is None else found.libraries.of_board(board.name, board.types)
        self._of = {ref: kind for kind, refs in parts_of_types(board).items() for ref in refs}
        self._refs = parts_of_types(board)
        self._left = _MOST_WITNESSED

    def of(self, refs: Sequence[str]) -> tuple[PartKey | None, Witnesses | None]:
        """Return the key of a part in the store, and its witnesses; None of what is not known or not asked any more."""
        kind = next((self._of[ref] for ref in refs if ref in self._of), None)
        if kind is None:
            return None, None
        name, stated = self._board.types[kind], self._board.manifest
        key = PartKey.of(name)
        self._left -= 1
        if self._left < 0:
            return key, None
        return key, witnesses_of(
            name,
            refs=self._refs[kind],
            board=self._board.name,
            types=self._board.types,
            size_codes=stated.size_codes,
            library=self._library,
            prefer=stated.prefer,
        )


def shown(seen: Seen, data: OpenQuestions | None) -> Shown | None:
    """Return the questions with what the store keeps beside them: answers, who asks the customer, earlier boards."""
    if data is None:
        return None
    board = BoardKey(data.board, seen.quote.customer)
    standing = seen.store.questions(board, only_open=False)
    given = tuple(
        GivenThere(
            one.question.text, answer.text, answer.given.who, _time(answer.given.when), _token(answer.given.where)
        )
        for one in standing
        for answer in one.answers
    )
    told = () if seen.answered is None else seen.answered.told
    here = {key for one in data.questions for key in (one.key, *(part.key for part in one.parts))}
    parts = {part.key: part.number for one in data.questions for part in one.parts if part.number is not None}
    return Shown(
        data,
        GROUPS,
        sum(one.group == "stop" for one in data.questions),
        sum(one.group != "advice" for one in data.questions),
        tuple(reversed(given)),
        {
            one.question.key: f"{one.asked.who}, {_time(one.asked.when)}"
            for one in standing
            if one.is_open and one.asked.where == TO_CUSTOMER
        },
        _used(seen, parts, data.board),
        _known_of(seen, parts),
        {one.key: one for one in told if one.key in here},
        tuple(one for one in told if one.key not in here),
        () if seen.answered is None else seen.answered.without_key,
        () if seen.answered is None else seen.answered.lacking,
    )


TO_CUSTOMER: Final = "given to the customer"
"""Whence a question is in the store that somebody gave to the customer."""


def _time(when: object) -> str:
    return f"{when:%Y-%m-%d %H:%M} UTC"


def _token(where: str) -> str:
    """Return the token of the list that an answer came in, where the desk gave it one."""
    token = where.partition("-")[0]
    return token if len(token) == TOKEN_DIGITS and token.isalnum() else ""


TOKEN_DIGITS: Final = 16
"""The length of what stands before the name of a list that came back."""


def _used(seen: Seen, parts: Mapping[str, PartKey], own: str) -> dict[str, tuple[UsedBefore, ...]]:
    """Return the other boards that used each part, with what their files state of it, the last first."""
    found: dict[tuple[str, ...], dict[str, UsedBefore]] = {}
    for one in seen.store.used_on(list(dict.fromkeys(parts.values()))):
        if one.board.name != own:
            figures = tuple(
                (field.replace("_", " "), cell_of(field, value)) for field, (value, _) in one.used.stated.items()
            )
            label = f"{one.board.name} {one.label}".strip()
            found.setdefault(one.used.key.compared, {})[label] = UsedBefore(label, figures)
    return {
        key: tuple(reversed(list(found[number.compared].values())))[:_MOST_BOARDS]
        for key, number in parts.items()
        if number.compared in found
    }


def _known_of(seen: Seen, parts: Mapping[str, PartKey]) -> dict[str, tuple[tuple[str, str], ...]]:
    """Return what the store knows of each part."""
    found: dict[tuple[str, ...], list[tuple[str, str]]] = {}
    if parts:
        wanted = {number.compared for number in parts.values()}
        for figure in seen.store.figures():
            if figure.key.compared in wanted:
                text = f"{cell_of(figure.field, figure.value)}, by {figure.given.who}, {figure.given.date}"
                found.setdefault(figure.key.compared, []).append((figure.field.replace("_", " "), text))
    return {key: tuple(found[number.compared]) for key, number in parts.items() if number.compared in found}


AREA: Final = Area("open_questions", "Open questions", shown, OpenQuestions, made, ("checked",))
