"""The desk as it is set up: its folder, the shop's configuration and lines, the store with the quotes."""

from __future__ import annotations

import hashlib
import os
import secrets
import shutil
import threading
import time
from pathlib import Path
from typing import Final

from capcheck.desk.workers import Order, Shop, Summary
from capcheck.intake import plain
from capcheck.shop import Configuration, demo, read_configuration
from capcheck.store import Quote, QuoteBoard, Quotes, Store, Work, open_store

_STORE: Final = "store.db"
_SECRET_BYTES: Final = 32
_COPY_KEPT_S: Final = 900.0
"""Seconds that a copy of the store stays after a newer one was made: longer than any worker that reads it."""


class Desk:
    """Where a desk keeps things. *folder* is made where it is not there.

    A quote's folder holds ``arrived`` (what came, as it came), ``boards`` (one folder a board, which the command line
    reads too) and ``results`` (what workers wrote, one folder a piece of work). Raises
    :class:`~capcheck.values.InputError`.
    """

    def __init__(
        self, folder: Path, configuration: Configuration, *, store: str | None = None, plan_seconds: float = 1.0
    ) -> None:
        self.folder = folder.resolve()
        self.folder.mkdir(parents=True, exist_ok=True)
        values = configuration.values
        self.configuration = configuration
        stated = store or values.store
        if stated is not None and "://" not in stated and store is None:
            stated = str(configuration.beside(stated))
        self.address = str(stated or self.folder / _STORE)
        """Where the store is; it may hold a password."""
        self.store: Store = open_store(self.address)
        named = list(values.lines.values()) or ([values.line] if values.line is not None else [])
        self.lines = tuple(str(configuration.beside(line).resolve()) for line in named)
        self.plan_seconds = plan_seconds
        self._copying = threading.Lock()

    @property
    def quotes(self) -> Quotes:
        """The quotes."""
        return self.store.quotes

    @property
    def secret(self) -> bytes:
        """What cookies are signed with: made once, and readable by the desk's user alone."""
        path = self.folder / "secret"
        if not path.is_file() or path.stat().st_size < _SECRET_BYTES:
            beside = path.with_name(f".secret.{secrets.token_hex(4)}")
            beside.touch(mode=0o600)
            beside.write_bytes(secrets.token_bytes(_SECRET_BYTES))
            beside.replace(path)  # whole or not at all: a cookie signed with nothing is made by anybody
        return path.read_bytes()

    def new_folder(self) -> str:
        """Make the folder of a new quote; return its name, which says nothing of the customer."""
        name = secrets.token_hex(8)
        (self.folder / "quotes" / name).mkdir(parents=True)
        return name

    def of_quote(self, folder: str) -> Path:
        """Return the folder of a quote."""
        return self.folder / "quotes" / plain(folder)

    def arrived(self, folder: str, name: str) -> Path:
        """Make and return a new folder for files that come for a quote; loose files are a board of that *name*."""
        path = self.of_quote(folder) / "arrived" / secrets.token_hex(4) / plain(name or "board")
        path.mkdir(parents=True)
        return path

    def of_board(self, quote: Quote, board: QuoteBoard) -> Path:
        """Return the folder of a board, which the command line reads too."""
        return self.of_quote(quote.folder) / "boards" / board.folder

    def readings_kept(self, quote: Quote, board: QuoteBoard) -> Path:
        """Return the folder with what board.toml of a board said before each change of a reading."""
        return self.of_quote(quote.folder) / "readings" / str(board.id)

    def of_work(self, quote: Quote, work: int) -> Path:
        """Return the folder into which a worker writes."""
        return self.of_quote(quote.folder) / "results" / str(work)

    def order_of(self, work: Work, quote: Quote) -> Order:
        """Return what a worker is told to do."""
        boards = {board.id: board for board in quote.boards if work.kind == "check"}
        board = boards.get(work.board or 0)
        earlier = None if board is None else boards.get(board.revises or 0)
        source = self.of_quote(quote.folder) / work.about if board is None else self.of_board(quote, board)
        return Order(
            work.id,
            work.kind,
            str(source),
            str(self.of_work(quote, work.id)),
            self._shop(),
            quote.customer,
            quote.name if board is None else board.name,
            "" if earlier is None else str(self.of_board(quote, earlier)),
        )

    def of_answers(self, quote: Quote, token: str) -> Path:
        """Return the folder in which answers that came at once, and what they changed, are kept."""
        return self.of_quote(quote.folder) / "answers" / plain(token)

    def letters_of(self, quote: Quote) -> Path:
        """Return the folder of the mails to a quote's customer that somebody edited."""
        return self.of_quote(quote.folder) / "letters"

    def order_to_answer(self, quote: Quote, board: QuoteBoard, filled: Path, into: Path) -> Order:
        """Return what a worker is told to do with a list that was filled in."""
        source, shop = self.of_board(quote, board), self._shop()
        return Order(0, "answer", str(source), str(into), shop, quote.customer, board.name, answers=str(filled))

    def _shop(self) -> Shop:
        return Shop(
            None if self.configuration.path is None else str(self.configuration.path.resolve()),
            self.configuration.is_named,
            str(self._store_for_workers()),
            self.lines,
            self.plan_seconds,
        )

    def _store_for_workers(self) -> Path:
        """Return a copy of what the store knows, which a worker reads; a new one where anything was written since."""
        with self._copying:
            state = hashlib.sha256(self.store.state().encode()).hexdigest()[:16]
            copies = self.folder / "known"
            path = copies / state / _STORE
            if not path.exists():
                path.parent.mkdir(parents=True, exist_ok=True)
                self.store.copy_to(path)
                for one in copies.iterdir():
                    if one != path.parent and one.stat().st_mtime < time.time() - _COPY_KEPT_S:
                        shutil.rmtree(one, ignore_errors=True)
            os.utime(path.parent)
            return path


def open_demo(folder: Path) -> tuple[Configuration, Path]:
    """Write the invented shop below *folder*; return its configuration, and the folder of its board."""
    shop = folder / "shop"
    for name, data in demo().items():
        path = shop / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(data)
    lines = sorted((shop / "lines").glob("*.toml"))
    stated = "".join(f'{path.name.split(".")[0]} = "lines/{path.name}"\n' for path in lines)
    libraries = ", ".join(f'"packages/{path.name}"' for path in sorted((shop / "packages").glob("*.csv")))
    path = shop / "capcheck.toml"
    path.write_text(f"libraries = [{libraries}]\n\n[lines]\n{stated}", encoding="utf-8")
    return read_configuration(path), shop / "irrigation-controller"


def summary_of(work: Work | None) -> Summary:
    """Return what a list shows of a check; nothing before there is one."""
    import msgspec

    return Summary() if work is None or not work.result else msgspec.json.decode(work.result, type=Summary)
