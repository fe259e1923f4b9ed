"""What every format says in the same words: what a gap lacks, how close the closest comes, what is not placed."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Final

from msgspec import Struct

from capcheck.checking import Report, refs_by_hand, refs_mounted
from capcheck.engine import Finding, Tightest
from capcheck.facts import OPEN_GAPS
from capcheck.lexicon import plain_fact, sentence
from capcheck.model import Board, Body, Kind, Mounting, Note
from capcheck.report.groups import Gap
from capcheck.shop import outcome_word
from capcheck.values import LENGTH, NUMBER, Place, counted, shortened, show, show_sides

if TYPE_CHECKING:
    from capcheck.engine import Take

_OF_THE_SHOP: Final = frozenset({"head", "machine", "line", "placing", "passing", "passage"})
"""Scopes of facts that the shop knows, not the customer."""
_MOST_SUBJECTS: Final = 10
_OPEN_GAPS_LEFT: Final = "board.open_gaps_left"
VERDICT_WORDS: Final = {"fail": "FAIL", "warn": "WARN", "pass": "PASS", "unanswered": "UNANSWERED"}
_FOLLOWS: Final = frozenset(
    ("transport.width_to_thickness", "board.overhang_share", "side.populated", "part.for_heads")
)
"""Facts that follow from others which are told or asked for, or from the class of the product: none can be stated."""


def scope_of(fact: str) -> str:
    """Return the scope in the name of a fact: ``part`` for ``part.lead_style``."""
    return fact.split(".", 1)[0]


def is_fact_of_the_shop(fact: str) -> bool:
    """Whether the shop knows the fact, not the customer."""
    return scope_of(fact) in _OF_THE_SHOP


def lacking(gap: Gap) -> str:
    """Return what a gap lacks: ``nominal length 0.25 to 0.6 mm; not known: pitch, pins``."""
    vague, unknown = vague_and_unknown(gap)
    return "; ".join(piece for piece in (vague, f"not known: {unknown}" if unknown else "") if piece)


def vague_and_unknown(gap: Gap) -> tuple[str, str]:
    """Return the facts that are too wide, each with what is known of it, and the names of those not known at all.

    Facts of the shop's machines are named only where nothing of the part is missing.
    """
    own = [(name, value) for name, value in gap.missing if not is_fact_of_the_shop(name)] or gap.missing
    own = [(name, value) for name, value in own if name not in _FOLLOWS] or own
    vague = [f"{plain_fact(name)} {value}" for name, value in own if value != "unknown"]
    unknown = dict.fromkeys(plain_fact(name) for name, value in own if value == "unknown")
    return "; ".join(vague), ", ".join(unknown)


def size_of(board: Board) -> str:
    """Return the board's size for a reader."""
    size = board.size
    if not size.length.value.is_known or not size.width.value.is_known:
        return "size unknown"
    thick = f", {show(size.thickness.low, size.thickness.high, LENGTH)} thick" if size.thickness.value.is_known else ""
    return f"{show_sides((size.length.value, size.width.value))}{thick}"


def is_sized(body: Body) -> bool:
    """Whether length and width are known."""
    return body.length.value.is_known and body.width.value.is_known


def body_in_words(body: Body) -> str:
    """Return a body for a reader: ``chip, 1.6 × 0.8 mm, height at most 0.9 mm``."""
    sides = show_sides((body.length.value, body.width.value)) if is_sized(body) else "size not known"
    height = show(max(body.height.low, 0.0), body.height.high, LENGTH)
    return ", ".join(piece for piece in (body.family or "", sides, f"height {height}") if piece)


def refs_of_types(board: Board) -> dict[int, list[str]]:
    """Return the references of the parts to place by the number of their type, −1 for those without one."""
    placements = board.placements
    refs: dict[int, list[str]] = {}
    for row in placements.is_part.nonzero()[0].tolist():
        refs.setdefault(int(placements.part_type[row]), []).append(placements.ref[row])
    return refs


class Closeness(Struct, frozen=True):
    """The subject that comes closest to a rule's limit among those that pass."""

    tightest: Tightest

    @property
    def share(self) -> float:
        """The margin as a share of what is compared."""
        return self.tightest.margin.share

    @property
    def values(self) -> str:
        """The two sides of the comparison: ``height 18.5 mm and max part height 20 mm``."""
        return " and ".join(f"{plain_fact(v.name)} {v}" for v in self.tightest.facts[:2])

    @property
    def text(self) -> str:
        """The whole as a sentence without the rule."""
        return f"{self.tightest.subject}, margin {self.tightest.margin} ({self.values})"


def closest(report: Report) -> list[Closeness]:
    """Return the tightest margin of each rule, the closest first; counts and flags have no distance."""
    tight = [t for t in report.answers.tightest if t.margin.dimension is not NUMBER]
    best: dict[str, Closeness] = {}
    for item in sorted(map(Closeness, tight), key=lambda c: c.share):
        best.setdefault(item.tightest.rule, item)
    return list(best.values())


def accepted(report: Report) -> list[tuple[str, str, str]]:
    """Return what is waived, as rule, subjects and reason with who and until; alike ones gathered."""
    gathered: dict[tuple[str, str], list[str]] = {}
    for finding in report.findings:
        if finding.waived:
            gathered.setdefault((finding.rule, finding.waiver), []).append(str(finding.subject))
    return [
        (rule, shortened(tuple(dict.fromkeys(subjects)), _MOST_SUBJECTS), why)
        for (rule, why), subjects in gathered.items()
    ]


def bare_pads(board: Board) -> list[str]:
    """Return the references of what is listed as a part and is bare copper by its name: nothing is placed there."""
    return refs_mounted(board, Mounting.NONE)


def not_fitted(board: Board) -> list[str]:
    """Return the references of the parts that stay empty."""
    placements = board.placements
    return [placements.ref[r] for r in ((placements.kind == Kind.PART) & ~placements.fitted).nonzero()[0].tolist()]


def not_placed(report: Report) -> list[tuple[str, list[str]]]:
    """Return what no placement head is asked about, with the words for it."""
    every = [
        ("through-hole, by hand or odd-form", refs_by_hand(report)),
        ("not fitted", not_fitted(report.board)),
        ("bare pads by their names, nothing to place", bare_pads(report.board)),
    ]
    return [(words, refs) for words, refs in every if refs]


def base_name(path: str) -> str:
    """Return the last part of a path: reports are read beside the files."""
    return path.replace("\\", "/").rsplit("/", 1)[-1]


def without_folders(text: str, files: Iterable[str]) -> str:
    """Return a text without the folders of those of *files* that it names from the root: they are of our own disk."""
    for file in sorted(files, key=len, reverse=True):
        if file.startswith("/") or file[1:3] in {":/", ":\\"}:
            text = text.replace(file, base_name(file))
    return text


def place_of(place: Place | None) -> str:
    """Return a place in a file for a reader: ``bom.csv:14``; empty where none is known."""
    if place is None:
        return ""
    return f"{base_name(place.file)}:{place.row}" if place.row else base_name(place.file)


def noted(note: Note) -> str:
    """Return a note with its place in front."""
    place = place_of(note.place)
    return f"{place}: {sentence(note.said)}" if place else sentence(note.said)


def in_short(report: Report) -> Sequence[str]:
    """Return the verdict in sentences: what it means for the order, with every count."""
    totals = report.totals
    fails = "1 check fails" if totals.failed == 1 else f"{totals.failed} checks fail"
    sentences = {
        "fail": [f"{fails}: the board cannot be built on this line as it is."],
        "warn": ["Nothing fails."],
        "pass": ["Nothing fails." if totals.waived else "Everything that was asked is proved to fit."],
        "unanswered": [f"Not answered, so nothing is proved: {unanswered(report)}."],
    }[report.verdict]
    if report.unanswered and totals.failed:
        sentences.append(f"{fails}.")
    if totals.known:
        known = [f for f in report.known if f.outcome == "fail" and not f.undecided]
        if report.verdict in {"warn", "pass"}:
            sentences = ["Nothing that is new or worse fails."]
        sentences.append(f"{_count(totals.known, 'finding')} known from before, {len(known)} of them fail.")
    looked = totals.warned - totals.undecided
    if looked:
        sentences.append(f"{_count(looked, 'warning')} to look at.")
    if totals.undecided:
        sentences.append(f"{_count(totals.undecided, 'check')} undecided: data missing; none of them is a pass.")
    if totals.waiting:
        sentences.append(f"{_count(totals.waiting, 'more check')} undecided until these are.")
    if totals.waived:
        sentences.append(f"{_count(totals.waived, 'finding')} waived.")
    return sentences


def unanswered(report: Report) -> str:
    """Return why the run is no answer to what was asked; empty for one that is."""
    return "; ".join(map(sentence, report.unanswered))


def _count(number: int, word: str) -> str:
    return f"{number} {word}" if number == 1 else f"{number} {word}s"


def why_not(take: Take) -> str:
    """Return what keeps a head from placing a part, or leaves it undecided: ``the part is too tall, −1.2 mm``."""
    margin = str(take.margin) if take.margin is not None else sentence(take.why or "")
    headline = take.headline[:1].lower() + take.headline[1:]
    told = headline or ("" if take.why is not None else take.rule)
    return ", ".join(piece for piece in (told, margin) if piece)


def count_line(report: Report) -> str:
    """Return the last line of a report: the verdict and every count."""
    totals = report.totals
    aside = f", {totals.waiting} waiting" if totals.waiting else ""
    aside += f", {totals.waived} waived" if totals.waived else ""
    aside += f", {totals.known} known from before" if totals.known else ""
    return (
        f"{VERDICT_WORDS[report.verdict]}: {totals.failed} fail, {totals.warned} warn ({totals.undecided} of them "
        f"undecided), {totals.passed} pass{aside}"
    )


def line_of_finding(finding: Finding) -> str:
    """Return a finding as a line: ``file:row: outcome rule reference message``."""
    place = str(finding.place or "-")
    subject = finding.subject.ref or finding.subject.side or finding.subject.machine or finding.subject.kind
    message = on_one_line(finding.text)
    machine = finding.subject.machine
    if machine and machine != subject and not finding.names_machine:
        message = f"{message} ({machine})"
    reason = f" (waived: {on_one_line(finding.waiver)})" if finding.waived else ""
    return f"{place}: {outcome_word(finding)} {finding.rule} {subject} {message}{reason}"


def on_one_line(text: str) -> str:
    """Return a text without its line breaks, and with one space between words."""
    return " ".join(text.split())


def pairs_that_may_touch(report: Report, *, all_told: bool = True) -> str:
    """Return how many pairs of bodies may touch as they are taken to lie, and how many are not proved apart, if any.

    Where none may touch as they are taken to lie, it is said only where *all_told*.
    """
    if not any(OPEN_GAPS in rule.facts for rule in report.answers.rules):
        return ""
    every, left = (int(report.session.numbers(name).high[0]) for name in (OPEN_GAPS, _OPEN_GAPS_LEFT))
    if not left and not all_told:
        return ""
    if left == every:
        return f"{counted(every, 'pair')} of bodies may touch, as far as sizes and 0° are known" if every else ""
    may = f"{counted(left, 'pair')} of bodies may touch" if left else "No pair of bodies touches"
    unproved = f"{every} {'is' if every == 1 else 'are'} not proved apart"
    return f"{may} as they are taken to lie, unknown sizes at their least; {unproved}"
