"""The facts that ship, gathered from the provider modules."""

from __future__ import annotations

from typing import Final

from capcheck.facts import board, bom, data, head, line, machine, part, product, side, transport
from capcheck.facts.catalogue import Catalogue

FACTS: Final = Catalogue()

for _module in (board, product, side, part, bom, data, machine, head, transport, line):
    FACTS.include(_module.facts)
