"""The shop's settings and lines, as an order names them."""

from __future__ import annotations

from pathlib import Path

from msgspec.structs import replace

from capcheck.desk.workers.orders import Order
from capcheck.machines import Line, read_line
from capcheck.shop import Configuration, Settings, read_configuration, settle


def settings_of(order: Order, board: Path | None = None) -> Settings:
    """Return what holds for a board of the shop's. Raises :class:`~capcheck.values.InputError`."""
    shop = order.shop
    configuration = Configuration()
    if shop.configuration is not None:
        configuration = replace(read_configuration(shop.configuration), is_named=shop.is_named)
    known = order.customer if order.customer in configuration.values.customers or shop.store else ""
    return settle(configuration, board=board, machines=True, store=shop.store, customer=known)


def lines_of(order: Order) -> list[Line]:
    """Return the shop's lines, in the order of its configuration. Raises :class:`~capcheck.values.InputError`."""
    return [read_line(line) for line in order.shop.lines]
