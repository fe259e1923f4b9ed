"""What does not agree in a customer's data: the record that every comparison of intake returns."""

from __future__ import annotations

from typing import Literal

from msgspec import Struct

Severity = Literal["stop", "assumed", "advice"]


class Discrepancy(Struct, frozen=True):
    """One thing in the customer's data that does not agree, with the references it is about.

    *kind* is a stable readable name, by which rules count. *severity*: ``stop`` holds the order up, ``assumed`` was
    settled by an assumption, ``advice`` costs money only.
    """

    kind: str
    message: str
    refs: tuple[str, ...] = ()
    file: str | None = None
    row: int | None = None
    severity: Severity = "assumed"
