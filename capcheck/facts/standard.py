"""The facts that ship, gathered from the provider modules."""

from __future__ import annotations

from typing import Final

from capcheck.facts import (
    accuracy,
    bank,
    board,
    bom,
    carrying,
    data,
    edges,
    feeder,
    fiducial,
    head,
    head_ranges,
    height_order,
    lands,
    line,
    machine,
    pair,
    panel,
    panel_proposal,
    part,
    part_as_stated,
    picking,
    product,
    second_side,
    side,
    stencil,
    transport,
)
from capcheck.facts.catalogue import Catalogue

FACTS: Final = Catalogue()

_MODULES: Final = (
    board,
    panel,
    product,
    side,
    second_side,
    part,
    part_as_stated,
    lands,
    stencil,
    pair,
    height_order,
    carrying,
    edges,
    fiducial,
    bom,
    data,
    machine,
    head,
    head_ranges,
    picking,
    transport,
    line,
    panel_proposal,
    feeder,
    bank,
    accuracy,
)

for _module in _MODULES:
    FACTS.include(_module.facts)
