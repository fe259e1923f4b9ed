"""What the customer is asked: one question a line, in three groups, with what happens where no answer comes."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from pathlib import PurePath
from typing import Final

from msgspec import Struct
from msgspec.structs import replace

from capcheck.checking import Report
from capcheck.engine import Finding
from capcheck.lexicon import sentence
from capcheck.model import NOTHING, Severity, Topic, say
from capcheck.report.groups import Gap, Group, decided_groups, gaps
from capcheck.report.sentences import base_name, is_of_the_shop, place_of, refs_of_types, unanswered, vague_and_unknown
from capcheck.values import number_of, shortened

TITLES: Final = {
    Severity.STOP: "On hold until answered",
    Severity.ASSUMED: "We assumed",
    Severity.ADVICE: "Advice",
}
_WITHOUT: Final = {
    Severity.STOP: "we cannot start until this is answered",
    Severity.ASSUMED: "we quote on this assumption and state it in the quotation",
    Severity.ADVICE: "nothing changes; it costs time or yield",
}
_FILES: Final = frozenset({Topic.PLACEMENTS, Topic.BOM, Topic.OUTLINE})
"""Topics of decisions about which file is which."""
_HEADINGS: Final = (
    "no",
    "group",
    "references",
    "part",
    "question",
    "assumed until then",
    "without an answer",
    "from",
    "your answer",
)


class Question(Struct, frozen=True):
    """One question: *refs* is the whole list, *assumed* what is taken until an answer comes, *source* its place."""

    group: Severity
    question: str
    refs: tuple[str, ...] = ()
    part: str = ""
    assumed: str = ""
    without: str = ""
    source: str = ""

    def cells(self, number: int) -> tuple[str, ...]:
        """Return the cells of a table row, with every reference and an empty one for the answer."""
        refs = " ".join(sorted(self.refs, key=number_of))
        return (
            str(number),
            TITLES[self.group],
            refs,
            self.part,
            self.question,
            self.assumed,
            self.without,
            self.source,
            "",
        )


def questions(report: Report) -> list[Question]:
    """Return every question to the customer: first what stops the order, then what is assumed, then advice."""
    live = [f for f in report.findings if not f.waived]
    found = [*_no_answer(report), *_decisions(report), *_disagreements(report), *_ambiguous(report)]
    asked = {(f.rule, f.subject) for f in live if f.rule in _asked_otherwise(report)}
    groups = decided_groups([f for f in live if f.subject.kind != "data" and (f.rule, f.subject) not in asked])
    tags = {rule.id: rule.tags for rule in report.answers.rules}
    found += [_of_group(g, "data" in tags.get(g.rule, ())) for g in groups if _concerns_customer(g)]
    found += [_of_gap(gap) for gap in gaps(live) if not is_of_the_shop(gap)]
    order = list(TITLES)
    return sorted(map(_without_folders(report), found), key=lambda q: order.index(q.group))


def _without_folders(report: Report) -> Callable[[Question], Question]:
    """Return what leaves the paths of our own disk out of a question: the customer knows his files by their names."""
    folders = {str(PurePath(file.path).parent) + sep for file in report.inputs for sep in "/\\"} - {"./", ".\\"}

    def named(question: Question) -> Question:
        texts = {}
        for name in ("question", "assumed", "without", "source"):
            text = getattr(question, name)
            for folder in sorted(folders, key=len, reverse=True) if "/" in text or "\\" in text else ():
                text = text.replace(folder, "")
            texts[name] = text
        return replace(question, **texts)

    return named


_BY_TOPIC: Final = {
    Topic.PART_OR_NOT: "part-or-feature",
    Topic.SIDE_UNKNOWN: "side-stated",
    Topic.NO_POSITION: "part-located",
}
"""Rules whose question a discrepancy of this topic asks, with the references."""


def _asked_otherwise(report: Report) -> set[str]:
    """Return the rules that say the same as decisions and bodies do, in fewer words."""
    says = {"inferred-settled"} if any(d.open for d in report.board.decisions) else set()
    topics = {d.topic for d in report.board.discrepancies}
    says |= {rule for topic, rule in _BY_TOPIC.items() if topic in topics}
    of_bodies = {"size-code-settled", "size-settled", "supply-settled"}
    return says | (of_bodies if any(body.questions for body in report.board.bodies) else set())


def _concerns_customer(group: Group) -> bool:
    """Whether the customer can answer: a warning about the line alone is the shop's own matter."""
    return group.outcome == "fail" or group.findings[0].subject.kind != "line"


def _no_answer(report: Report) -> Iterator[Question]:
    """Yield one question where the run is no answer: a list without it would read as if nothing else were open."""
    if report.unanswered:
        yield Question(
            group=Severity.STOP,
            question=f"Unanswered: {unanswered(report)}. Are all files there, and of this board?",
            without="the order waits: the board is not checked",
        )


def _decisions(report: Report) -> Iterator[Question]:
    for decision in report.board.decisions:
        if decision.topic in _FILES and not decision.open and not sentence(decision.runner_up):
            continue  # the only file that can be it: the customer need not be told which one he sent
        also = f" It could also be: {sentence(decision.runner_up)}." if sentence(decision.runner_up) else ""
        choice, evidence = sentence(decision.choice), sentence(decision.evidence)
        yield Question(
            group=Severity.STOP if decision.open else Severity.ASSUMED,
            question=f"{decision.topic}: {choice}. Evidence: {evidence}.{also} Please confirm.",
            assumed=choice,
            without=(
                "we cannot start: a wrong reading makes every later answer wrong"
                if decision.open
                else "the board is built with this reading"
            ),
            source=place_of(decision.place),
        )


def _disagreements(report: Report) -> Iterator[Question]:
    waived = {f.subject.ref for f in report.findings if f.waived and f.subject.kind == "data"}
    for told in report.board.discrepancies:
        if told.about is not None or (shortened(told.refs) or told.title) in waived:
            continue
        yield Question(
            group=told.severity,
            question=f"{told.title}: {sentence(told.said)}",
            refs=tuple(told.refs),
            without=_WITHOUT[told.severity],
            source=place_of(told.place),
        )


def _ambiguous(report: Report) -> Iterator[Question]:
    board = report.board
    for index, same in refs_of_types(board).items():
        if index < 0:
            continue
        name = board.types[index]
        for question in board.bodies[index].questions:
            # How the shop would settle it in its own files is nothing to the customer.
            asked = sentence(say(question.key, **{**question.values, "settle": NOTHING}))
            yield Question(
                group=Severity.ASSUMED,
                question=f"{asked}; which is meant?",
                refs=tuple(same),
                part=name.part_number or name.value or name.footprint,
                assumed="every reading counts: a rule passes only where each of them passes",
                without="rules that depend on the reading stay undecided",
                source=base_name(name.where),
            )


def _of_group(group: Group, about_data: bool) -> Question:
    refs = _refs_of(group.findings)
    kind = Severity.ASSUMED if about_data else Severity.ADVICE
    ask, without = "", _WITHOUT[kind]
    if group.outcome == "fail":
        kind, without = Severity.STOP, "we cannot start: this line cannot build it"
        ask = " Can the part change, or be placed another way?" if refs else " Can the board change?"
    return Question(
        group=kind,
        question=f"{_sentence(group.text)}{ask} What would help: {_sentence(group.remedy)}",
        refs=refs,
        part=group.label,
        without=without,
        source=_from(group.findings[0]),
    )


def _of_gap(gap: Gap) -> Question:
    known, unknown = vague_and_unknown(gap)
    refs, side = _refs_of(gap.findings), gap.findings[0].subject.side
    about = "" if refs else f" for the {side} side" if side else " for the board"
    asks = [f"Please give{about}: {unknown}."] if unknown else []
    asks += [f"Please give the exact figures{about}; so far {known}."] if known else []
    return Question(
        group=Severity.ASSUMED,
        question=" ".join(asks),
        refs=refs,
        part=", ".join(dict.fromkeys(f.group for f in gap.findings if f.subject.ref and f.group != f.subject.ref)),
        assumed=f"no more than is known: {known}" if known else "no value",
        without=f"undecided: {', '.join(gap.rules)}; nothing is assumed to fit",
        source=_from(gap.findings[0]),
    )


def _refs_of(findings: Sequence[Finding]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(f.subject.ref for f in findings if f.subject.ref is not None))


def _from(finding: Finding) -> str:
    place = place_of(finding.place)
    return f"{finding.rule}, {place}" if place else finding.rule


def _sentence(text: str) -> str:
    return text if text.endswith((".", "?", "!")) else f"{text}."


def questions_table(report: Report) -> list[tuple[str, ...]]:
    """Return the list as rows of texts, the headings first."""
    return [_HEADINGS, *(q.cells(n) for n, q in enumerate(questions(report), 1))]
