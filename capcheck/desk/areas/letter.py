"""What goes to the customer: the mail's text, and the list to fill in beside it."""

from __future__ import annotations

from typing import Final

from msgspec import Struct

from capcheck.desk.areas.area import Area, Found, Seen
from capcheck.report import load_format


class Letter(Struct, frozen=True):
    """A mail as text, its subject first."""

    text: str


def made(found: Found) -> Letter:
    """Return the mail with the questions of the line that suits the board best."""
    text = load_format("mail").render(found.asking)
    return Letter(text if isinstance(text, str) else text.decode())


def shown(_: Seen, data: Letter | None) -> Letter | None:
    """Return it as it is."""
    return data


AREA: Final = Area("letter", "To the customer", shown, Letter, made, ("checked",))
