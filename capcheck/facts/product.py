"""Facts about what the product is made for, which the shop's configuration states."""

from __future__ import annotations

from capcheck.facts.catalogue import Catalogue, Session
from capcheck.facts.columns import Numbers
from capcheck.units import NUMBER

facts = Catalogue()


@facts.number("board.product_class", NUMBER, "class of product by IPC-A-610: 1 general, 2 dedicated service, 3 high")
def _product_class(session: Session) -> Numbers:
    stated = session.inputs.get("product_class")
    return Numbers.stated([None if stated is None else float(stated)], lambda _row: "configuration product_class")
