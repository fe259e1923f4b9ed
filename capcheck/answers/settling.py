"""Answers against the questions that are asked now: what each would change, and why another one changes nothing."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Final, Literal

from msgspec import Struct
from msgspec.structs import replace

from capcheck.answers.agreement import of_one_mind, told_one_way
from capcheck.answers.boxes import Ticked, boxes_of_questions, ticked
from capcheck.answers.edits_of_readings import edits_of_line, edits_of_other
from capcheck.answers.effects import Effect, effects, filled_in
from capcheck.answers.figures import Doubt, Figure, Words, doubts_of, read_figure
from capcheck.answers.filled_list import FilledList, FilledRow
from capcheck.answers.outcome import Acceptance, Edit, Settled, State
from capcheck.intake import CellError, expand_references, read_measure
from capcheck.model import Basis
from capcheck.packages import Key, Statement, bodies_of, key_of
from capcheck.report import DATA_SHEET, FIGURES, Question, Row, questions_by_key
from capcheck.values import LENGTH, pattern, refs_of_subject, show_number

if TYPE_CHECKING:
    from capcheck.checking import Report
    from capcheck.engine import Finding
    from capcheck.shop import GivenAnswer

_OPPOSITE: Final = {".": ",", ",": "."}
_BOARD_LIMITS_MM: Final = {"thickness": (0.1, 10.0), "length": (3.0, 1_500.0), "width": (3.0, 1_500.0)}
"""What a board can measure at all; from memory, with room on both sides."""
_LENGTH_FILL: Final = pattern(r"\{(\d):length\}")
_SYSTEM: Final = ("size_codes",)
_SYSTEMS: Final[Mapping[str, Literal["inch", "metric"]]] = {"inch": "inch", "metric": "metric"}
_SAID: Final = frozenset({"choice", "answer"})
"""What answers a part on its own; figures alone leave what is said of all to hold for it too."""


class Answering(Struct, frozen=True):
    """Who answered, on which day, and which answers are taken although they are doubted, by the key of their row."""

    by: str
    on: dt.date
    taken: frozenset[str] = frozenset()


class Asked(Struct, frozen=True):
    """A question that is asked now, and the part of it that a row is about."""

    question: Question
    part: Row | None = None
    apart: frozenset[tuple[str, str]] = frozenset()
    """The parts, by key and version, that the list answers on their own: what is said of all is not said of them."""

    @property
    def version(self) -> str:
        """The hash of what is asked."""
        return self.part.asked if self.part is not None else self.question.asked

    @property
    def refs(self) -> tuple[str, ...]:
        """The designators that it is about."""
        return self.part.every if self.part is not None else self.question.every

    @property
    def answered_here(self) -> tuple[str, ...]:
        """Those of them of which a row speaks: all but the parts that are answered on their own."""
        gone = {ref for row in self.question.rows if (row.key, row.asked) in self.apart for ref in row.every}
        return tuple(ref for ref in self.refs if ref not in gone)

    @property
    def rows_answered_here(self) -> tuple[tuple[str, str], ...]:
        """The parts, by key and version, that an answer to the whole question answers too."""
        every = ((row.key, row.asked) for row in self.question.rows) if self.part is None else ()
        return tuple(row for row in every if row not in self.apart)

    @property
    def words(self) -> str:
        """What is asked, and of which part."""
        return self.question.ask if self.part is None else f"{self.question.ask} {self.part.name}"

    @property
    def about(self) -> str:
        """The type of the question and the part, as reports name them."""
        return f"{self.question.type}: {self.part.name}" if self.part is not None else self.question.type


def asked_now(report: Report) -> dict[str, Asked]:
    """Return what is asked now by its key: the questions and the parts of them."""
    found: dict[str, Asked] = {}
    for question in questions_by_key(report).values():
        found[question.key] = Asked(question)
        found |= {row.key: Asked(question, row) for row in question.rows}
    return found


def settle_answers(
    filled: FilledList, report: Report, answering: Answering, before: Sequence[GivenAnswer] = ()
) -> list[Settled]:
    """Return what becomes of each row that was filled in, in the list's order; *before* are earlier answers."""
    asked, boxes = asked_now(report), boxes_of_questions(report)
    earlier = {(one.key, one.asked): one for one in before if one.board == report.board.name}
    rows = _told_once(filled.rows)
    apart = frozenset((row.key, row.asked) for row in rows if row.cells.keys() & _SAID)
    asked = {key: one if one.part is not None else _without(one, apart) for key, one in asked.items()}
    settling = [_Settling(row, asked, report, answering) for row in rows]
    found = [one.settled(boxes, earlier.get((row.key, row.asked))) for row, one in zip(rows, settling, strict=True)]
    of_parts = {row.key: one.of_its_parts for row, one in zip(rows, settling, strict=True)}
    questions = {key: one.question for key, one in asked.items()}
    return of_one_mind(told_one_way(found), questions, of_parts, answering.taken)


def _without(asked: Asked, apart: frozenset[tuple[str, str]]) -> Asked:
    """Return a question without those of the parts *apart* that are its own."""
    return replace(asked, apart=apart & {(row.key, row.asked) for row in asked.question.rows})


def _told_once(rows: Sequence[FilledRow]) -> list[FilledRow]:
    """Return the filled rows, one that was copied with the same answer once."""
    seen: dict[tuple[object, ...], FilledRow] = {}
    for row in rows:
        if row.is_filled:
            seen.setdefault((row.key, row.asked, *sorted(row.cells.items())), row)
    return list(seen.values())


class _Settling:
    """One row on its way to what it does."""

    def __init__(self, row: FilledRow, asked: Mapping[str, Asked], report: Report, answering: Answering) -> None:
        self._row = row
        self._asked = asked.get(row.key)
        self._report = report
        self._answering = answering
        self._text = "; ".join(
            f"{name} {text}" if name in {*FIGURES, DATA_SHEET} else text for name, text in row.cells.items()
        )
        self._taken = row.key in answering.taken

    def settled(self, boxes: Mapping[str, Sequence[tuple[int, str]]], earlier: GivenAnswer | None) -> Settled:
        """Return what becomes of the row."""
        asked = self._asked
        if asked is None:
            if earlier is not None and earlier.answer == self._text:
                return self._as(State.BEFORE, told={"on": earlier.on, "by": earlier.by})
            return self._as(State.UNKNOWN if self._row.is_marked else State.NO_MORE)
        if self._row.asked != asked.version:
            return self._as(State.CHANGED if self._row.is_marked else State.NO_MORE)
        figures, doubts, words = self._figures(asked)
        statements = self._statements(asked, figures, doubts)
        choice, answer = (self._row.cells.get(name, "") for name in ("choice", "answer"))
        box = ticked(choice, answer, boxes[asked.question.key])
        effect = self._effect(asked, box, choice, answer)
        found = self._done(effect[0], effect[1], asked) if effect is not None else self._as(State.WORDS)
        if statements or doubts:
            found = replace(found, statements=(*found.statements, *statements))
            found = found if found.state is not State.WORDS else replace(found, state=State.WRITTEN)
            complete = asked.part is not None and set(asked.part.figures) <= figures.keys()
            waits = found.state is State.WAITS
            found = replace(found, state=State.WRITTEN, closes=complete or (found.closes and not waits))
        if words and found.state is State.NOTED and not (choice or answer):
            found = replace(found, state=State.WORDS)
        found = replace(found, in_words=tuple(words))
        doubts = [*found.doubts, *doubts]
        if doubts and not self._taken:
            return self._as(State.DOUBTED, doubts=tuple(doubts))
        return replace(found, doubts=tuple(doubts))

    def _as(self, state: State, **values: object) -> Settled:
        about = self._asked.about if self._asked is not None else self._row.key
        return Settled(
            self._row.key,
            self._row.asked,
            about,
            self._text,
            state,
            self._row.place,
            **values,  # type: ignore[arg-type]
        )

    def _figures(self, asked: Asked) -> tuple[dict[str, Figure], list[Doubt], list[Words]]:
        """Return the figures of the row, the doubts about them, and what stands in their cells in words."""
        figures: dict[str, Figure] = {}
        doubts: list[Doubt] = []
        words: list[Words] = []
        texts = {name: self._row.cells[name] for name in FIGURES if name in self._row.cells}
        for name, text in texts.items():
            read = read_figure(name, text, self._row.units.get(name, ""))
            if isinstance(read, Doubt):
                doubts.append(read)
            elif isinstance(read, Words):
                words.append(read)
            else:
                figures[name] = read
        if figures and asked.part is None:
            doubts.append(Doubt("figures", self._text, "stand beside the question: which of its parts are they of?"))
        doubts += doubts_of(figures, texts, [self._report.board.bodies[index] for _, index in self._types(asked)])
        return figures, doubts, words

    def _types(self, asked: Asked) -> list[tuple[Key, int]]:
        """Return the library's key and the number of each kind of part that a row is about."""
        board, found = self._report.board, dict[tuple[str, ...], tuple[Key, int]]()
        wanted = set(asked.answered_here)
        for ref, index in zip(board.placements.ref, board.placements.part_type.tolist(), strict=True):
            if index >= 0 and ref.partition("/")[0] in wanted:
                key = key_of(board.types[index], asked.refs, board.name)
                if key is not None:
                    found.setdefault(key.compared, (key, index))
        return list(found.values())

    def _statements(self, asked: Asked, figures: Mapping[str, Figure], doubts: list[Doubt]) -> list[Statement]:
        if not figures or asked.part is None:
            return []
        keys = [key for key, _ in self._types(asked)]
        if len(keys) > 1:
            doubts.append(Doubt("figures", self._text, f"are of several kinds of part: {', '.join(map(str, keys))}"))
        if not keys:
            doubts.append(Doubt("figures", self._text, "are of no part that is placed"))
        return [self._stated(key, figures) for key in keys]

    def _stated(self, key: Key, values: Mapping[str, Figure]) -> Statement:
        sheet = self._row.cells.get(DATA_SHEET, "")
        told = f"answered by {self._answering.by}, {self._answering.on}"
        return Statement(key, dict(values), f"{told}, data sheet {sheet}" if sheet else told, sheet)

    def of_its_parts(self, edit: Edit) -> tuple[Statement, ...]:
        """Return what an entry for the whole board says of the row's parts alone: sides, by the system of size codes.

        Empty where it says nothing of a part, or no code of one is a size in that system.
        """
        system = _SYSTEMS.get(edit.value) if isinstance(edit.value, str) else None
        if self._asked is None or edit.path != _SYSTEM or system is None:
            return ()
        found = []
        for key, index in self._types(self._asked):
            (body,) = bodies_of([self._report.board.types[index]], size_codes=system)
            if body.length.basis is not Basis.DECODED or body.width.basis is not Basis.DECODED:
                return ()
            found.append(self._stated(key, {"length": body.length.value, "width": body.width.value}))
        return tuple(found)

    def _effect(
        self, asked: Asked, box: Ticked | None, choice: str, answer: str
    ) -> tuple[Effect, tuple[str, ...]] | None:
        """Return what an answer does and what fills its blanks; None where it is in words that are no box."""
        every = effects().get(asked.question.type, ())
        if box is not None and box.number < len(every):
            return every[box.number], box.fills
        if answer and not choice:
            # A length alone is what the one box asks for that has a blank for a length.
            blanks = [one for one in every if any(_LENGTH_FILL.fullmatch(text) for text in one.board.values())]
            if len(blanks) == 1 and len(blanks[0].board) == 1 and _as_length(answer) is not None:
                return blanks[0], (answer,)
        return None

    def _done(self, effect: Effect, fills: tuple[str, ...], asked: Asked) -> Settled:
        if effect.does == "waits":
            return self._as(State.WAITS)
        noted = self._as(State.NOTED, closes=not asked.apart, closes_rows=asked.rows_answered_here)
        if effect.does == "noted":
            return noted
        if effect.does == "holds":
            return replace(noted, state=State.HOLDS)
        if effect.does == "accept":
            accepted = tuple(self._acceptances(asked))
            return replace(noted, state=State.WRITTEN, acceptances=accepted) if accepted else noted
        if effect.does.startswith("settle"):
            read = asked.question
            edits = edits_of_line(read.settle) if effect.does == "settle" else edits_of_other(read)
            return replace(noted, state=State.WRITTEN, edits=edits) if edits else noted
        written = replace(noted, state=State.WRITTEN)
        try:
            edits = tuple(self._edits(effect, fills, asked))
        except _UnclearError as error:
            return replace(written, doubts=(Doubt("answer", self._text, str(error)),))
        if effect.of == "named" and not effect.rest:
            # Of the others it says nothing: what is missing of them is still missing.
            named = {ref for edit in edits for ref in edit.value}
            settled = {(row.key, row.asked) for row in asked.question.rows if named.issuperset(row.every)}
            written = replace(written, closes_rows=tuple(row for row in written.closes_rows if row in settled))
        statements = tuple(self._stated(key, effect.body) for key, _ in self._types(asked))
        return replace(written, edits=edits, statements=statements if effect.body else ())

    def _edits(self, effect: Effect, fills: tuple[str, ...], asked: Asked) -> Iterator[Edit]:
        for key, template in effect.board.items():
            yield Edit(tuple(key.split(".")), self._value(key, template, fills, asked))
        if effect.refs:
            here = asked.answered_here
            named = _designators(effect.of, fills, asked.refs, here)
            if named:
                yield Edit((effect.refs,), named)
            rest = tuple(ref for ref in here if ref not in set(named))
            if effect.rest and rest:
                yield Edit((effect.rest,), rest)
        if effect.table:
            value = self._value(effect.table, effect.as_, fills, asked)
            yield from (Edit((effect.table, ref), value) for ref in asked.answered_here)

    def _value(self, key: str, template: str, fills: tuple[str, ...], asked: Asked) -> str:
        if match := _LENGTH_FILL.fullmatch(template):
            number = int(match[1])
            length = _as_length(fills[number - 1]) if number <= len(fills) else None
            if length is None:
                raise _UnclearError("no length was filled in")
            least, most = _BOARD_LIMITS_MM.get(key, (0.0, math.inf))
            if not least <= length <= most:
                raise _UnclearError(f"no board has a {key} of {show_number(length)} mm; is the unit right?")
            return f"{show_number(length)} mm"
        values = asked.question.values
        opposite = _OPPOSITE.get(str(values.get("mark", "")), "")
        try:
            return filled_in(template, {**values, "opposite_mark": opposite}, fills)
        except (IndexError, KeyError):
            raise _UnclearError("the blank was not filled in") from None

    def _acceptances(self, asked: Asked) -> Iterator[Acceptance]:
        rules = asked.part.rules if asked.part is not None else asked.question.rules
        wanted, seen = set(asked.answered_here), set[tuple[str, str]]()
        for finding in self._report.findings:
            ref = finding.subject.ref
            if finding.waived or finding.rule not in rules or (finding.rule, ref or "*") in seen:
                continue
            reason = f"accepted by the customer: {self._text}"
            if ref is None:
                if asked.part is None and not finding.undecided:
                    seen.add((finding.rule, "*"))
                    yield Acceptance(finding.rule, "*", self._worst(finding.rule), reason)
                continue
            if wanted.issuperset(one.partition("/")[0] for one in refs_of_subject(ref)):
                seen.add((finding.rule, ref))
                yield Acceptance(finding.rule, _literally(ref), _margin(finding), reason)

    def _worst(self, rule: str) -> str | None:
        """Return how far beyond its limit the board lies by a rule on no part; None where one has no distance."""
        found = [f for f in self._report.findings if f.rule == rule and f.subject.ref is None and not f.undecided]
        margins = [(f.margin.low, _margin(f)) for f in found if f.margin is not None and math.isfinite(f.margin.low)]
        return min(margins)[1] if margins and len(margins) == len(found) else None


class _UnclearError(ValueError):
    """What was filled in cannot be what the box asks for."""


def _designators(of: str, fills: tuple[str, ...], every: Sequence[str], here: Sequence[str]) -> tuple[str, ...]:
    """Return the designators that are meant: *every* one may be named, all of them are those *here*."""
    if of == "all":
        return tuple(here)
    named, complaints = expand_references(" ".join(fills), every)
    unknown = [ref for ref in named if ref not in set(every)]
    if complaints or unknown or not named:
        raise _UnclearError(f"names what is not asked about: {', '.join(unknown) or ' '.join(fills) or 'nothing'}")
    return tuple(named) if of == "named" else tuple(ref for ref in here if ref not in set(named))


def _as_length(text: str) -> float | None:
    try:
        value = read_measure(text, LENGTH, unit="mm", decimal=None)
    except CellError:
        return None
    return value.low if value.is_exact else None


def _literally(ref: str) -> str:
    """Return a reference as a waiver's pattern that fits it alone."""
    return "".join(f"[{letter}]" if letter in "*?[" else letter for letter in ref)


def _margin(finding: Finding) -> str | None:
    margin = finding.margin
    if margin is None or finding.undecided or not math.isfinite(margin.low):
        return None
    return f"{margin.low:.12g} {margin.dimension.unit}".strip()
