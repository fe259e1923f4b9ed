"""A board that does not pass as sent, judged in the panel that would be ordered of it.

The circuit's own rules (parts, pairs, files) keep their answers; what depends on what the conveyor carries (size,
edges, fiducials, straightness) is answered anew on the panel. What fails as sent is then one finding.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from typing import Final

from msgspec import Struct
from msgspec.structs import replace

from capcheck.checking.board_size import board_size
from capcheck.engine import Answers, Counts, FactValue, Finding, Rule, SubjectName
from capcheck.facts import OPEN_GAPS, Session, is_after_heads, panel_to_order
from capcheck.intake import stepped
from capcheck.lexicon import sentence
from capcheck.model import Board, Fiducial, OrderedPanel, Said, say

_PASSES_LINE: Final = "board-passes-line"
"""The rule whose finding tells what keeps the board from passing as sent."""
_OF_CIRCUIT: Final = frozenset({"part", "pair", "part on head", "bom line", "data"})
"""Subjects whose answers a panel does not change; how near parts lie to its parting lines, nobody knows yet."""
_ROWS: Final = frozenset({"fiducial", "part on machine", "fiducial on machine"})
"""Subjects of which a panel holds one for each circuit."""


class InPanel(Struct, frozen=True):
    """A panel, the board stepped to it and its session; and the answers, in which what fails as sent is one finding.

    *as_sent* says what that is.
    """

    panel: OrderedPanel
    board: Board
    session: Session
    answers: Answers
    as_sent: Said

    @property
    def said(self) -> Said:
        """The panel in words."""
        return _said(self.panel)


def judged_in_panel(
    session: Session,
    board: Board,
    as_sent: Answers,
    *,
    answered: Callable[[Board, Sequence[Rule]], tuple[Session, Answers]],
    live: Callable[[Sequence[Finding]], Sequence[Finding]],
) -> InPanel | None:
    """Return what is answered in the panel that would be ordered; None where the board is judged as sent.

    It counts if it cures something that fails as sent, for certain, and nothing fails that did not. *answered* answers
    rules on a board, as they were answered on this one; *live* leaves out the findings that a waiver accepts.
    """
    told = next((rule for rule in as_sent.rules if rule.id == _PASSES_LINE), None)
    # The bodies of a circuit lie alike in each of its copies.
    of_panel = [rule for rule in as_sent.rules if _may_answer_otherwise(rule, session)]
    ids = {rule.id for rule in of_panel}
    failing = _failing(live(as_sent.findings), ids)
    panel = panel_to_order(session, board) if told is not None and failing else None
    if told is None or panel is None:
        return None
    whole, base = _board_in(board, panel)
    carried, anew = answered(whole, of_panel)
    findings = _worst_of_circuits(_of_circuit(f, base) for f in anew.findings if f.rule != _PASSES_LINE)
    left = _failing(live(findings), ids)
    if not left < failing or not _cures(live(as_sent.findings), findings, failing - left):
        return None
    circuits = panel.source.columns * panel.source.rows
    rows = {rule.id for rule in of_panel if rule.subject.name in _ROWS}
    counts = dict(as_sent.counts)
    for rule in ids:
        counts[rule] = _one_circuit(anew.counts[rule], rule, findings, circuits) if rule in rows else anew.counts[rule]
    cured = [rule for rule in of_panel if rule.id in failing - left]
    fails = _fails_as_sent(cured, as_sent, len(session.line.machines) if session.line else 0)
    counts[_PASSES_LINE] = Counts(broken=1)
    return InPanel(
        panel,
        whole,
        carried,
        replace(
            as_sent,
            findings=[
                *(f for f in as_sent.findings if f.rule not in ids),
                *findings,
                _needs_panel(told, fails, panel),
            ],
            counts=defaultdict(Counts, counts),
            tightest=[
                *(t for t in as_sent.tightest if t.rule not in ids),
                *(replace(t, subject=_subject(t.subject, base)) for t in anew.tightest if t.rule != _PASSES_LINE),
            ],
            broken_rules=list(dict.fromkeys([*as_sent.broken_rules, *anew.broken_rules])),
        ),
        fails,
    )


def _may_answer_otherwise(rule: Rule, session: Session) -> bool:
    """Whether a panel may change the answers of a rule: what its parts' heads and feeders are, it does not."""
    if rule.subject.name in _OF_CIRCUIT or OPEN_GAPS in rule.facts:
        return False
    return not any(is_after_heads(session.catalogue, name) for name in rule.facts)


def _failing(findings: Iterable[Finding], rules: set[str]) -> set[str]:
    return {f.rule for f in findings if f.rule in rules and f.outcome == "fail"}


def _cures(as_sent: Iterable[Finding], in_panel: Iterable[Finding], rules: set[str]) -> bool:
    """Whether something that fails *as_sent* by these rules does no more: what is open then may fail still."""
    told = {(finding.rule, finding.subject) for finding in in_panel}
    return any(f.rule in rules and f.outcome == "fail" and (f.rule, f.subject) not in told for f in as_sent)


def _board_in(board: Board, panel: OrderedPanel) -> tuple[Board, dict[str, str]]:
    """Return the board stepped to the panel, and for each reference on it the circuit's own."""
    marks = _marks_on_rails(board, panel)
    manifest = board.manifest.model_copy(
        update={"panel": panel.source, "fiducials": [*board.manifest.fiducials, *marks]}
    )
    placements, outline, found = stepped(board.placements, board.outline, panel.source)
    whole = replace(board, manifest=manifest, placements=placements, outline=outline)
    size, _ = board_size(whole, board.bodies)
    base = placements.ref if found is None else found.base
    return replace(whole, size=size), dict(zip(placements.ref, base, strict=True))


def _marks_on_rails(board: Board, panel: OrderedPanel) -> list[Fiducial]:
    """Return the fiducials that the shop draws on its panels: three, each in a corner, in the middle of a rail."""
    diameter = board.manifest.panel_proposal.fiducial_diameter
    if diameter is None or board.outline is None:
        return []
    left, low, _, _ = board.outline.polygon.bounds
    rails, inset = panel.source.rails, panel.rail_mm / 2
    left, low = left - rails.left, low - rails.bottom
    right, high = left + panel.length_mm, low + panel.width_mm
    corners = [(left + inset, low + inset), (right - inset, low + inset), (left + inset, high - inset)]
    return [
        Fiducial.model_construct(x=x, y=y, diameter=diameter, side=side, kind="panel")
        for side in ("top", "bottom")
        for x, y in corners
    ]


def _subject(subject: SubjectName, base: dict[str, str]) -> SubjectName:
    """Return a subject on the panel as the circuit names it."""
    return subject if subject.ref is None else replace(subject, ref=base.get(subject.ref, subject.ref))


def _of_circuit(finding: Finding, base: dict[str, str]) -> Finding:
    """Return a finding on a part of some circuit as one on the part as the customer names it."""
    ref = finding.subject.ref
    if ref is None or base.get(ref, ref) == ref:
        return finding
    own = base[ref]
    shown = tuple(replace(value, text=own) if value.text == ref else value for value in finding.shown)
    return replace(finding, subject=_subject(finding.subject, base), shown=shown)


def _worst_of_circuits(findings: Iterable[Finding]) -> list[Finding]:
    """Return the findings, of those of one rule on one part in several circuits the gravest with the least margin."""

    def gravity(finding: Finding) -> tuple[int, float]:
        rank = 0 if finding.outcome == "fail" else 2 if finding.undecided else 1
        return rank, math.inf if finding.margin is None else finding.margin.low

    worst: dict[tuple[str, SubjectName], Finding] = {}
    for finding in findings:
        key = finding.rule, finding.subject
        if key not in worst or gravity(finding) < gravity(worst[key]):
            worst[key] = finding
    return list(worst.values())


def _one_circuit(counts: Counts, rule: str, findings: Sequence[Finding], circuits: int) -> Counts:
    """Return the counts of one circuit's parts, each with what comes out worst for it on the panel."""
    own = [f for f in findings if f.rule == rule]
    undecided = sum(f.undecided for f in own)
    of_circuit = -(-(counts.passed + counts.broken + counts.undecided) // circuits)
    return Counts(
        passed=max(of_circuit - len(own), 0),
        broken=len(own) - undecided,
        undecided=undecided,
        not_applicable=counts.not_applicable // circuits,
        none_found=counts.none_found,
    )


def _said(panel: OrderedPanel) -> Said:
    alone = panel.source.columns == panel.source.rows == 1
    return say(
        "checking.rails around" if alone else "checking.a panel of",
        columns=panel.source.columns,
        rows=panel.source.rows,
        length=panel.length_mm,
        width=panel.width_mm,
        rail=panel.rail_mm,
        gap=panel.gap_mm,
    )


def _fails_as_sent(cured: Sequence[Rule], as_sent: Answers, of_line: int) -> Said:
    """Return what fails as sent and the panel cures: findings that fail on the same machines together.

    Where all the machines *of_line* fail it, none is named.
    """
    alike: dict[tuple[tuple[str, ...], tuple[str, ...]], list[str]] = {}
    for rule in cured:
        failed = [f.subject for f in as_sent.findings if f.rule == rule.id and f.outcome == "fail"]
        refs = tuple(dict.fromkeys(s.ref for s in failed if s.ref))
        machines = tuple(dict.fromkeys(s.machine for s in failed if s.machine))
        sides = tuple(dict.fromkeys(f"{s.side} side" for s in failed if s.side))
        where = ("every machine",) if len(machines) == of_line > 1 else machines or sides or ("board",)
        alike.setdefault((refs, where), []).append(rule.headline)
    why = [
        say(
            "checking.parts fail as sent" if refs else "checking.board fails as sent",
            findings=findings,
            refs=refs,
            machines=machines,
        )
        for (refs, machines), findings in alike.items()
    ]
    return say("checking.fails as sent", why=why)


def _needs_panel(told: Rule, fails: Said, panel: OrderedPanel) -> Finding:
    """Return the one finding that stands for all that *fails* as sent and the panel cures."""
    statement = say("checking.panel to order", fails=fails, panel=_said(panel))
    return Finding(
        rule=told.id,
        title=told.headline,
        outcome="warn",
        undecided=False,
        subject=SubjectName("line"),
        facts=(FactValue("line.panel_proposal", text=sentence(statement)),),
        margin=None,
        template="{line.panel_proposal}",
        remedy=told.remedy,
        shown=(FactValue("line.panel_proposal", text=sentence(statement)),),
    )
