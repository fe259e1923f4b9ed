"""What happens to a quote while its page is open, told as server-sent events: what it is at, and what changed."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator
from pathlib import Path
from typing import TYPE_CHECKING, Final

import msgspec
from msgspec import Struct
from starlette.responses import StreamingResponse

from capcheck.desk.areas import AREAS
from capcheck.desk.web.board_pages import folder_shown
from capcheck.desk.web.quote_rows import row_of
from capcheck.desk.web.requests import desk_of
from capcheck.desk.workers import PHASE, Phase, read_form
from capcheck.values import InputError

if TYPE_CHECKING:
    from starlette.requests import Request

    from capcheck.desk.shop_at_desk import Desk

_LOOKS_S: Final = 0.3
_ALIVE: Final = 50
"""After so many looks without news a comment is sent, so that nothing between takes the line for dead."""


class BoardNow(Struct, frozen=True):
    """A board as it is now: what its worker is at, and a version of each area that changes with its file."""

    id: int
    open: bool
    phase: str
    done: int
    of: int
    areas: dict[str, str]
    told: str = ""
    """Why the last check came to nothing, where it did."""


class QuoteNow(Struct, frozen=True):
    """A quote as it is now."""

    state: str
    phase: str
    boards: tuple[BoardNow, ...]


def events(request: Request) -> StreamingResponse:
    """Tell what a quote is at, now and whenever that changes, for as long as its page is open."""
    return StreamingResponse(_told(desk_of(request), request.path_params["quote"]), media_type="text/event-stream")


async def _told(desk: Desk, number: int) -> AsyncIterator[str]:
    last: QuoteNow | None = None
    quiet = 0
    while True:
        try:
            now = await asyncio.to_thread(quote_now, desk, number)
        except InputError:  # of the store, which may answer again
            now = last
        else:
            if now is None:
                return
        if now is not None and now != last:
            yield f"event: now\ndata: {msgspec.json.encode(now).decode()}\n\n"
            last, quiet = now, 0
        elif (quiet := quiet + 1) >= _ALIVE:
            yield ": alive\n\n"
            quiet = 0
        await asyncio.sleep(_LOOKS_S)


def quote_now(desk: Desk, number: int) -> QuoteNow | None:
    """Return a quote as it is now; None where there is none."""
    quote = desk.quotes.one(number)
    if quote is None:
        return None
    boards = []
    for board in quote.boards:
        working = next((work for work in reversed(board.works) if work.is_open), None)
        phase = None if working is None else _phase(desk.of_work(quote, working.id), waits=not working.tries)
        folder = folder_shown(desk, quote, board)
        boards.append(
            BoardNow(
                board.id,
                working is not None,
                "" if phase is None else phase.words,
                0 if phase is None else phase.done,
                0 if phase is None else phase.of,
                {} if folder is None else {name: _version(folder / f"{name}.json") for name in AREAS},
                "" if board.last is None or board.last.outcome == "done" else board.last.told,
            )
        )
    sorting = next((work for work in reversed(quote.works) if work.is_open), None)
    phase = None if sorting is None else _phase(desk.of_work(quote, sorting.id), waits=not sorting.tries)
    return QuoteNow(row_of(quote).state, "" if phase is None else phase.words, tuple(boards))


def _phase(folder: Path, *, waits: bool) -> Phase:
    return Phase("waiting for its turn") if waits else read_form(folder / PHASE, Phase) or Phase("beginning")


def _version(file: Path) -> str:
    try:
        found = file.stat()
    except OSError:
        return ""
    return f"{file.parent.name}-{found.st_mtime_ns}"
