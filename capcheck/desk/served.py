"""The desk served: the address printed, the browser let in, until it is interrupted."""

from __future__ import annotations

import secrets
import shutil
import socket
import sys
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING, Final

from capcheck.shop import Configuration
from capcheck.values import InputError

if TYPE_CHECKING:
    from capcheck.desk.shop_at_desk import Desk

LOOPBACK: Final = "127.0.0.1"
_ASKED_FOR: Final = ("sqlalchemy", "starlette", "uvicorn", "python_multipart", "jinja2")


def serve(
    configuration: Configuration,
    *,
    folder: Path | None,
    store: str | None = None,
    host: str = "",
    port: int = 0,
    jobs: int = 2,
    demo: bool = False,
) -> None:
    """Serve the desk until it is interrupted. Without *host* it is this machine's alone; else a token is asked for.

    With *demo* the shop is an invented one, in a folder of this run alone where none is named. Raises
    :class:`~capcheck.values.InputError`.
    """
    _refuse_without_extra()
    from capcheck.desk.shop_at_desk import Desk, open_demo

    temporary = Path(tempfile.mkdtemp(prefix="capcheck-desk-")) if folder is None and demo else None
    place = temporary or folder or Path("desk")
    try:
        if demo:
            configuration, sample = open_demo(place)
        desk = Desk(place, configuration, store=store)
        if demo and not desk.quotes.all():
            _bring_sample(desk, sample)
        _run(desk, host, port, jobs)
    finally:
        if temporary is not None:
            shutil.rmtree(temporary, ignore_errors=True)


def _refuse_without_extra() -> None:
    from importlib.util import find_spec

    missing = [name for name in _ASKED_FOR if find_spec(name) is None]
    if missing:
        raise InputError.at(
            "capcheck desk",
            f"needs {', '.join(missing)}, which {'is' if len(missing) == 1 else 'are'} not installed",
            "the page is served by them",
            'install them with: pip install "capcheck[desk]"',
        )


def _bring_sample(desk: Desk, sample: Path) -> None:
    """Have the invented board on the desk, as if it had come."""
    name = "Irrigation controller"
    folder = desk.new_folder()
    arrived = desk.arrived(folder, name)
    files = []
    for path in sorted(sample.iterdir()):
        shutil.copyfile(path, arrived / path.name)
        where = (arrived / path.name).relative_to(desk.of_quote(folder)).as_posix()
        files.append((path.name, where, path.stat().st_size))
    facts: dict[str, str | int | None] = {
        "folder": folder,
        "customer": "Meadow Pumps",
        "name": name,
        "quantity": 500,
        "due": "",
    }
    desk.quotes.begin(facts, arrived.relative_to(desk.of_quote(folder)).as_posix(), files, "demo")


def _run(desk: Desk, host: str, port: int, jobs: int) -> None:
    import uvicorn

    from capcheck.desk.web import app_of

    token = secrets.token_urlsafe(24) if host else None
    listening = _socket_at(host or LOOPBACK, port)
    port = listening.getsockname()[1]
    shown = host or LOOPBACK
    sys.stderr.write(f"The desk is at http://{f'[{shown}]' if ':' in shown else shown}:{port}/\n")
    if token is not None:
        sys.stderr.write(f"Token, told this once: {token}\n")
    sys.stderr.write(f"Its quotes lie in {desk.folder}\nEnd it with Ctrl-C.\n")
    sys.stderr.flush()
    app = app_of(desk, jobs=jobs, host=host or LOOPBACK, token=token)
    config = uvicorn.Config(
        app, log_level="warning", access_log=False, server_header=False, timeout_graceful_shutdown=2
    )
    uvicorn.Server(config).run(sockets=[listening])


def _socket_at(host: str, port: int) -> socket.socket:
    """Return a socket that listens. Raises :class:`~capcheck.values.InputError` where it cannot."""
    made = socket.socket(socket.AF_INET6 if ":" in host else socket.AF_INET, socket.SOCK_STREAM)
    made.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        made.bind((host, port))
    except OSError as error:
        made.close()
        raise InputError.at(
            f"{host}:{port}",
            f"cannot be listened at: {error.strerror}",
            "another program may hold it",
            "name another port: --port 8765; or leave it out, and one is chosen",
        ) from None
    made.set_inheritable(False)
    return made
