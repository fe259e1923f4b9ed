"""What a shop's rule or fact raises: it is told, and everything else is still answered."""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar

Result = TypeVar("Result")


def attempted(work: Callable[[], Result]) -> tuple[Result | None, str]:
    """Return what the *work* returns, and the error that it raises with its kind; empty where there is none."""
    try:
        return work(), ""
    except KeyboardInterrupt:
        raise
    except BaseException as error:  # noqa: BLE001  code that a shop wrote may raise anything
        return None, f"{type(error).__name__}: {error}"
