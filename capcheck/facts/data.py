"""Facts about where the customer's files disagree: one row for each disagreement that intake found."""

from __future__ import annotations

from capcheck.facts.catalogue import Catalogue
from capcheck.facts.columns import Texts
from capcheck.lexicon import sentence
from capcheck.model import Board, Severity, Topic
from capcheck.values import shortened

facts = Catalogue()

KINDS = tuple(topic.titled(open_=open_) for open_ in (False, True) for topic in Topic)
SEVERITIES = tuple(severity.value for severity in Severity)


@facts.text("data.refs", "references that the disagreement is about")
def _refs(board: Board) -> Texts:
    found = board.discrepancies
    return Texts.of([shortened(d.refs) or d.title for d in found], lambda row: found[row].place or "")


@facts.text("data.kind", "what kind of disagreement it is", choices=KINDS)
def _kind(board: Board) -> Texts:
    return Texts.of([d.title for d in board.discrepancies])


@facts.text("data.statement", "the disagreement in words, without what it is about")
def _statement(board: Board) -> Texts:
    return Texts.of([sentence(d.said) for d in board.discrepancies])


@facts.text("data.severity", "what it costs: stop, assumed or advice", choices=SEVERITIES)
def _severity(board: Board) -> Texts:
    return Texts.of([d.severity for d in board.discrepancies])
