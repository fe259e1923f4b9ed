"""The server as an ASGI application."""

from __future__ import annotations

import contextlib
from collections.abc import AsyncIterator
from pathlib import Path
from typing import TYPE_CHECKING, Final

from msgspec.structs import replace
from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.requests import ClientDisconnect
from starlette.responses import PlainTextResponse
from starlette.routing import Mount, Route
from starlette.staticfiles import StaticFiles

from capcheck.desk.crew import Crew
from capcheck.desk.web import answer_pages, board_pages, library_pages, quote_pages, reading_pages
from capcheck.desk.web.events import events
from capcheck.desk.web.guard import ENTER, Guard, same_token
from capcheck.desk.web.requests import Form, back_to, changing, page, refused, set_name
from capcheck.values import InputError

if TYPE_CHECKING:
    from starlette.requests import Request
    from starlette.responses import Response

    from capcheck.desk.shop_at_desk import Desk

_STATIC: Final = Path(__file__).with_name("static")


def app_of(
    desk: Desk, *, jobs: int, host: str = "127.0.0.1", token: str | None = None, cold: bool = False
) -> Starlette:
    """Return the application: *jobs* workers at once, a *token* asked for once a session where there is one.

    *cold* is as of :class:`~capcheck.desk.crew.Crew`.
    """
    crew = Crew(desk, jobs, cold=cold)

    @contextlib.asynccontextmanager
    async def running(_: Starlette) -> AsyncIterator[None]:
        await crew.start()
        try:
            yield
        finally:
            await crew.stop()

    secret = desk.secret
    quote, board = "/quotes/{quote:int}", "/quotes/{quote:int}/boards/{board:int}"
    app = Starlette(
        routes=[
            Route("/", quote_pages.list_of_quotes),
            Route(ENTER, _enter_page),
            Route(ENTER, changing(_enter), methods=["POST"]),
            Route("/name", changing(set_name), methods=["POST"]),
            Route("/quotes", quote_pages.bring, methods=["POST"]),
            Route(quote, quote_pages.quote_page),
            Route(quote, changing(quote_pages.change_facts), methods=["POST"]),
            Route(f"{quote}/state", changing(quote_pages.change_state), methods=["POST"]),
            Route(f"{quote}/files", quote_pages.bring, methods=["POST"]),
            Route(f"{quote}/events", events),
            Route(board, board_pages.board_page),
            Route(f"{board}/check", changing(board_pages.check_again), methods=["POST"]),
            Route(f"{board}/reading", changing(reading_pages.change_reading), methods=["POST"]),
            Route(f"{board}/revision", quote_pages.bring, methods=["POST"]),
            Route(f"{board}/reading/undo", changing(reading_pages.undo), methods=["POST"]),
            Route(f"{board}/parts", reading_pages.parts),
            Route(f"{board}/answer", changing(answer_pages.answer), methods=["POST"]),
            Route(f"{board}/answers", answer_pages.bring_answers, methods=["POST"]),
            Route(f"{board}/undo", changing(answer_pages.undo), methods=["POST"]),
            Route(f"{board}/ask", changing(answer_pages.ask_customer), methods=["POST"]),
            Route(f"{board}/letter", changing(answer_pages.edit_letter), methods=["POST"]),
            Route(f"{board}/areas/{{area}}", board_pages.area_alone),
            Route(f"{board}/files/{{name}}", board_pages.download),
            Route("/library", library_pages.library_page),
            Route("/library/parts", changing(library_pages.fill_in), methods=["POST"]),
            Route("/library/files", library_pages.bring, methods=["POST"]),
            Route("/library/library.csv", library_pages.export),
            Route("/picture.css", board_pages.picture_style),
            Mount("/static", StaticFiles(directory=_STATIC)),
        ],
        middleware=[Middleware(Guard, secret=secret, host=host, token=token)],
        exception_handlers={
            InputError: refused,
            HTTPException: refused,
            OSError: refused,
            ClientDisconnect: _broken_off,
            Exception: refused,
        },
        lifespan=running,
    )
    app.state.desk = desk
    app.state.crew = crew
    app.state.secret = secret
    app.state.token = token
    return app


def _broken_off(_: Request, __: Exception) -> Response:
    return PlainTextResponse("What was sent did not arrive to its end; nothing of it was kept.", 408)


def _enter_page(request: Request) -> Response:
    return page(request, "enter.html", wrong=False)


def _enter(request: Request, form: Form) -> Response:
    token = request.app.state.token
    if token is not None and not same_token(form.get("token", ""), token):
        return page(request, "enter.html", 403, wrong=True)
    request.state.session = replace(request.state.session, entered=True)
    return back_to("/")
