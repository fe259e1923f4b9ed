"""Texts that say nothing of a body whatever their digits are: told by their shape, once for all of that shape.

Most values and many descriptions of a board, such as ``4k7`` and ``rev 3``, are of a few shapes. Each reader knows of
which shapes its texts are; what none of them could read need not be read.
"""

from __future__ import annotations

from functools import cache, lru_cache
from typing import Final

from capcheck.lexicon import fold, shape
from capcheck.packages.candidate import Column
from capcheck.packages.names.arrays import array_codes
from capcheck.packages.names.connectors import may_be_connector
from capcheck.packages.names.free_text import may_state_dimensions
from capcheck.packages.names.held_parts import holds_another, speaks_of_another
from capcheck.packages.names.land_patterns import may_be_land_pattern
from capcheck.packages.names.least_bodies import may_name_sort
from capcheck.packages.names.mounting import may_say_mounting
from capcheck.packages.names.named_sizes import may_be_case, may_be_named
from capcheck.packages.names.outlines import may_be_package
from capcheck.packages.names.part_classes import may_name_class
from capcheck.packages.names.part_kind import may_say_by_digits
from capcheck.packages.names.part_numbers import may_hold_number
from capcheck.packages.tables import size_table
from capcheck.values import pattern

_LONGEST: Final = 60
"""Characters of a text for which a look at its shape costs less than reading it."""
_BEYOND: Final = frozenset("µμΩ±°")
"""Signs beside those of ASCII that every reader takes as they stand."""
_SIGNS: Final = pattern(r"[X*:]|GA|B0B|WWW\.")
"""What stands in products, grids of balls and addresses, in capitals with noughts for digits."""
_LEAST: Final = 4
"""Digits of a size code."""
_LONG_RUN: Final = pattern(r"[0-9]{4,}")


def part_number_is_silent(number: str) -> bool:
    """Whether a part number is none of a known scheme: nothing of it is told but that it is one."""
    return len(number) <= _LONGEST and not may_hold_number(number)


def is_silent(text: str, column: Column, letters: str) -> bool:
    """Whether prose about a part with such reference letters, in capitals, says nothing but what kind of part it is.

    Any other such text of its :func:`shape` says the same.
    """
    return names_no_body(text, column, letters) and not may_hold_number(text)


def names_no_body(text: str, column: Column, letters: str) -> bool:
    """Whether prose about a part with such reference letters, in capitals, says no more, but for part numbers in it."""
    if not text:
        return True
    return len(text) <= _LONGEST and _is_silent(shape(text), column, letters) and not _holds_code(text)


def _holds_code(text: str) -> bool:
    """Whether a run of digits is or begins with the code of a size of any sort."""
    codes = _codes()
    return any(run in codes or run[:_LEAST] in codes for run in _LONG_RUN.findall(text))


@cache
def _codes() -> frozenset[str]:
    table = size_table()
    molded = (code for size in table.tantalum for code in (size.metric[:_LEAST], size.inch))
    by_kind = (code for _, code in table.by_kind)
    return array_codes().union(table.chip_by_inch, table.chip_by_metric, table.clashes, by_kind, molded)


@lru_cache(maxsize=8192)
def _is_silent(shaped: str, column: Column, letters: str) -> bool:
    if not (shaped.isascii() or set(shaped) - _BEYOND <= set(filter(str.isascii, shaped))):
        return False
    upper = shape(shaped.upper())
    if _SIGNS.search(upper) or may_be_connector(letters) or holds_another((shaped,), "") or speaks_of_another(shaped):
        return False
    folded = fold(shaped)
    said_by = (
        may_say_by_digits(upper),
        may_be_land_pattern(upper),
        may_be_named(upper),
        may_be_case(upper.replace("0000", "000")),
        may_be_package(shaped),
        may_state_dimensions(shaped),
        may_say_mounting(shaped),
        may_name_class(letters, column, folded),
        may_name_sort(letters, folded),
    )
    return not any(said_by)
