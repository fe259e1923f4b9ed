"""What the pages have in common: the desk behind them, whose request it is, forms that may change something."""

from __future__ import annotations

import getpass
import inspect
from collections.abc import Awaitable, Callable, Mapping
from typing import TYPE_CHECKING, Final
from urllib.parse import quote as quoted, unquote

from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.responses import HTMLResponse, RedirectResponse, Response

from capcheck.desk.web.guard import cookie_header, is_signed, parts_of, sign_of
from capcheck.desk.web.uploads import as_text, of_the_folder
from capcheck.lexicon import cautions
from capcheck.report import environment_of
from capcheck.values import InputError, unforeseen
from capcheck.version import __version__

if TYPE_CHECKING:
    from starlette.requests import Request

    from capcheck.desk.shop_at_desk import Desk
    from capcheck.store import Quote, QuoteBoard

NAME: Final = "desk_name"
SIGN: Final = "sign"
_YEAR_S: Final = 365 * 24 * 3600
_LONGEST_NAME: Final = 60
_LARGEST_FORM: Final = 1_000_000
_MOST_QUOTES: Final = 2**31 - 1
"""No database numbers more."""
Form = Mapping[str, str]


def desk_of(request: Request) -> Desk:
    """Return the desk that is served."""
    desk: Desk = request.app.state.desk
    return desk


def person(request: Request) -> str:
    """Return who asks, by the name given once in this browser; else the login name of whoever started the desk."""
    given = as_text(unquote(request.cookies.get(NAME, ""))).strip()[:_LONGEST_NAME]
    if given:
        return given
    try:
        return getpass.getuser()
    except (KeyError, OSError):
        return "desk"


def page(request: Request, template: str, status: int = 200, **values: object) -> HTMLResponse:
    """Return a page, or a piece of one."""
    environment = environment_of("capcheck.desk.web")
    text = environment.get_template(template).render(
        sign=sign_of(request, request.app.state.secret),
        person=person(request),
        version=__version__,
        cautions=cautions(),
        trouble=request.app.state.crew.trouble,
        **values,
    )
    return HTMLResponse(text, status)


def changing(
    handler: Callable[[Request, Form], Response] | Callable[[Request, Form], Awaitable[Response]],
) -> Callable[[Request], Awaitable[Response]]:
    """Return a route for a form that changes something: it is refused without the sign of its session."""

    async def route(request: Request) -> Response:
        length = request.headers.get("content-length", "0")
        if "transfer-encoding" in request.headers or not length.isdecimal() or int(length) > _LARGEST_FORM:
            raise HTTPException(413, "That is more than a form of this desk holds: shorten what is written in it.")
        async with request.form(max_files=0, max_fields=60, max_part_size=_LARGEST_FORM) as sent:
            form = {name: as_text(value) for name, value in sent.items() if isinstance(value, str)}
        refuse_unsigned(request, form.get(SIGN, ""))
        if inspect.iscoroutinefunction(handler):
            answer: Response = await handler(request, form)
            return answer
        return await run_in_threadpool(handler, request, form)  # type: ignore[arg-type] # no coroutine, as asked above

    return route


def refuse_unsigned(request: Request, sign: str) -> None:
    """Raise where a change does not carry the sign of its session."""
    if not is_signed(request, request.app.state.secret, sign):
        raise HTTPException(403, "This form is of an earlier session: reload the page, and do it again.")


def quote_of(request: Request) -> Quote:
    """Return the quote that the address names."""
    number = request.path_params["quote"]
    found = desk_of(request).quotes.one(number) if number <= _MOST_QUOTES else None
    if found is None:
        raise HTTPException(404, "There is no such quote.")
    return found


def board_of(request: Request) -> tuple[Quote, QuoteBoard]:
    """Return the quote and its board that the address names."""
    quote = quote_of(request)
    for board in quote.boards:
        if board.id == request.path_params["board"]:
            return quote, board
    raise HTTPException(404, "There is no such board in this quote.")


def back_to(path: str) -> RedirectResponse:
    """Return the answer to a change that was made."""
    return RedirectResponse(path, 303)


def set_name(request: Request, form: Form) -> Response:
    """Keep who sits at this browser."""
    answer = back_to(_path_of(request.headers.get("referer", "/")))
    name = form.get("name", "").strip()[:_LONGEST_NAME]
    answer.headers.append("set-cookie", cookie_header(NAME, quoted(name), _YEAR_S))
    return answer


def _path_of(address: str) -> str:
    parts = parts_of(address)
    path = parts.path if parts.path.startswith("/") and not parts.path.startswith("//") else "/"
    return f"{path}?{parts.query}" if parts.query else path


def refused(request: Request, error: Exception) -> Response:
    """Say why something was not done; a script gets it as plain text."""
    if isinstance(error, HTTPException):
        status, told = error.status_code, [str(error.detail)]
    elif isinstance(error, InputError):
        status, told = 422, [str(problem) for problem in error.problems]
    else:
        status, told = 500, [str(of_the_folder(error) if isinstance(error, OSError) else unforeseen(error, "the desk"))]
    if "application/json" in request.headers.get("accept", ""):
        return Response("\n".join(told), status, media_type="text/plain; charset=utf-8")
    return page(request, "refused.html", status, told=told)
