"""Facts about what the product is made for: board.toml states it, else the shop's configuration."""

from __future__ import annotations

from capcheck.facts.catalogue import Catalogue, Session
from capcheck.facts.columns import Numbers
from capcheck.model import Board
from capcheck.values import NUMBER, Interval

facts = Catalogue()


@facts.number("board.product_class", NUMBER, "class of product by IPC-A-610: 1 general, 2 dedicated service, 3 high")
def _product_class(session: Session, board: Board) -> Numbers:
    own = getattr(board.manifest, "product_class", None)
    stated = own if own is not None else session.product_class
    source = "board.toml product_class" if own is not None else "configuration product_class"
    return Numbers.stated([None if stated is None else float(stated)], lambda _row: source)


@facts.number("board.overhang_share", NUMBER, "share of its width by which a termination may hang over its land")
def _overhang(board_product_class: Numbers) -> Numbers:
    """Return a half for classes 1 and 2, a quarter for class 3 (IPC-A-610 8.3.2.1), both where none is stated."""
    low, high = float(board_product_class.low[0]), float(board_product_class.high[0])
    if low != high:
        return Numbers.of([Interval(0.25, 0.5)])
    return Numbers.of([Interval.exactly(0.25 if low == 3 else 0.5)], board_product_class.source)
