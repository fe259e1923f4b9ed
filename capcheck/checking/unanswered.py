"""Why a run answered nothing, or not what it was asked: such a run is no pass, whatever else it found."""

from __future__ import annotations

from collections.abc import Collection, Iterator

import numpy as np

from capcheck.engine import Answers
from capcheck.model import Board, Mounting, Said, say


def why_unanswered(board: Board, answers: Answers, selected: Collection[str]) -> tuple[Said, ...]:
    """Return what stands against taking the run for an answer; empty for a run that answered what it was asked.

    *selected* are the names of rules and tags that were asked for. Rules that do not apply to the board, and rules that
    nobody named and whose line, BOM or outline is missing, are ordinary.
    """
    return (*_broken(answers), *_nothing_to_place(board), *_selected(answers, selected), *_no_answer(answers))


def _broken(answers: Answers) -> Iterator[Said]:
    for rule, error in answers.broken_rules:
        yield say("checking.rule broken", rule=rule, error=error)


def _nothing_to_place(board: Board) -> Iterator[Said]:
    placements = board.placements
    bare = np.array([*(body.mounting is Mounting.NONE for body in board.bodies), False])
    if not np.any(placements.is_part & ~bare[placements.part_type]):
        yield say("checking.nothing to place", rows=len(placements))


def _selected(answers: Answers, selected: Collection[str]) -> Iterator[Said]:
    """Yield what lacks for each name that was asked for and none of whose rules could be answered."""
    for name in selected:
        asked = {rule.id for rule in answers.rules if name == rule.id or name in rule.tags}
        lacking = [what for what, rules in answers.skipped.items() if asked & set(rules)]
        if asked and asked <= {rule for rules in answers.skipped.values() for rule in rules}:
            yield say("checking.selected without input", name=name, inputs=lacking)


def _no_answer(answers: Answers) -> Iterator[Said]:
    if not any(c.passed + c.broken + c.undecided for c in answers.counts.values()):
        yield say("checking.no answer", rules=len(answers.rules))
