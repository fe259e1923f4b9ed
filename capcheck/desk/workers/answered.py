"""A list that was filled in, held against what is asked of a board now: what each answer would change."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from pathlib import Path
from typing import Final

import msgspec

from capcheck.answers import (
    Answering,
    Destinations,
    Planned,
    StoreKeeper,
    Told,
    asked_now,
    planned,
    questions_to_keep,
    read_filled_list,
    read_filled_text,
    settle_answers,
)
from capcheck.checking import check_read, prepare, read_prepared
from capcheck.desk.answers_kept import ANSWERED, BOARD_FILE, Answered, ChangedFile, ToldAnswer
from capcheck.desk.workers.orders import Order, Result, write_whole
from capcheck.desk.workers.shop_of_order import lines_of, settings_of
from capcheck.report import without_folders
from capcheck.shop import answers_given

_HOLDS: Final = dt.timedelta(days=365)
_LACKING: Final = {
    "library": "figures of parts have no library to go to",
    "configuration": "the shop has no configuration that could keep what the customer accepts",
}


def settle_filled(order: Order, into: Path) -> Result:
    """Write what the answers of an order change into *into*. Raises InputError where its list cannot be read."""
    source, filled_in = Path(order.source), Path(order.answers)
    settings = settings_of(order, source)
    given = prepare(settings, None)
    lines = lines_of(order)
    line = lines[order.line] if 0 <= order.line < len(lines) else None
    report = check_read(given, read_prepared(given, source), line)
    now = asked_now(report)
    filled = read_filled_text(filled_in, report) or read_filled_list(
        filled_in, now, {one.version for one in now.values()}
    )
    today = dt.date.today()  # noqa: DTZ011 - the shop's own calendar day
    answering = Answering(order.by, today, frozenset(order.taken))
    questions = questions_to_keep(report)
    keeper = StoreKeeper(
        order.shop.store or "",
        by=order.by,
        on=today,
        board=report.board.name,
        customer=settings.customer,
        where=filled_in.name,
        asked=questions,
    )
    own = source / BOARD_FILE
    before = answers_given(settings, report.board.name)
    plan = planned(
        settle_answers(filled, report, answering, before),
        Destinations(keeper, own, settings.configuration, settings.answers, own, keeper),
        answering,
        report.board.name,
        until=today + _HOLDS,
        before=before,
    )
    answered = {one.key for one in plan.kept}
    paths = [file.path for file in report.inputs]
    result = Answered(
        report.board.name,
        tuple(_told(one, paths) for one in plan.told),
        tuple(map(_row, filled.without_key)),
        tuple(_LACKING[name] for name in plan.lacking),
        _changed(plan, own),
        _changed(plan, settings.configuration.path),
        tuple(statement for one in plan.told for statement in one.settled.statements),
        plan.kept,
        tuple(question for key, question in questions.items() if key in answered),
        tuple(sorted({one.key for one in before})),
    )
    write_whole(into / ANSWERED, msgspec.msgpack.encode(result))
    return Result("done", board=report.board.name)


def _row(place: object) -> str:
    return str(place).rpartition("/")[2]


def _told(told: Told, paths: Sequence[str]) -> ToldAnswer:
    one = told.settled
    changes = [f"{cell.column} {cell.new} of {cell.key}" for cell in told.cells if cell.kind != "same"]
    changes += [f"{'.'.join(entry.path)} = {entry.new}" for entry in told.entries]
    changes += [f"accepted: {waiver['part']}" for waiver in told.waivers]
    doubts = tuple((doubt.figure, doubt.text, without_folders(doubt.why, paths)) for doubt in one.doubts)
    state = one.state.name.lower()
    return ToldAnswer(one.key, one.about, one.answer, state, str(one.state), tuple(changes), doubts, _row(one.place))


def _changed(plan: Planned, path: Path | None) -> ChangedFile | None:
    if path is None or path not in plan.files:
        return None
    return ChangedFile(plan.files[path], path.read_bytes() if path.is_file() else None)
