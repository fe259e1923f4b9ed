"""Regular expressions that are compiled when they are first used.

Some two hundred stand at the top of modules, where a reader looks for them; a run meets a third of them. Compiling all
when the modules are loaded would take longer than checking a small board.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import AnyStr, Final, Generic, cast

_METHODS: Final = ("match", "fullmatch", "search", "finditer", "findall", "split", "sub", "subn")


def pattern(source: AnyStr | Callable[[], AnyStr], flags: int = 0) -> re.Pattern[AnyStr]:
    """Return the regular expression *source*, which may be a function that makes it of words read from a file.

    A mistake in it shows at its first use, so each needs a test.
    """
    return cast("re.Pattern[AnyStr]", _Pattern(source, flags))


class _Pattern(Generic[AnyStr]):
    """Stands for a compiled pattern, and hands out that one's methods."""

    def __init__(self, source: AnyStr | Callable[[], AnyStr], flags: int) -> None:
        self._source: AnyStr | Callable[[], AnyStr] = source
        self._flags = flags

    def __getattr__(self, name: str) -> object:
        compiled = re.compile(self._source() if callable(self._source) else self._source, self._flags)
        # Kept as attributes of this object, so that the next use costs no more than with the compiled pattern.
        vars(self).update((method, getattr(compiled, method)) for method in _METHODS)
        return getattr(compiled, name)
