"""JSON text of data and structs: open ends are null, numbers carry no noise, and the order is always the same."""

from __future__ import annotations

import json
import math
from collections.abc import Iterator, Mapping
from itertools import islice
from typing import Final

import msgspec
from msgspec import Struct, to_builtins

from capcheck.values import Interval, pattern

_OBEYED: Final = pattern("[\x7f-\x9f\u2028-\u202e\u2066-\u2069\ud800-\udfff]")
_PIECE: Final = 500
"""Items of a list that are made at once."""
_DIGITS: Final = 6
"""After the decimal point: nanometres of a millimetre, microseconds of a second."""


def json_text(data: object) -> str:
    """Return *data* as JSON text, readable and without NaN; structs may stand in it, and intervals as their ends.

    What a terminal obeys, what turns the direction of writing and what UTF-8 has no way to write stands as an escape.
    """
    return f"{_formatted(data)}\n"


def json_pieces(fields: Mapping[str, object]) -> Iterator[str]:
    """Yield the text of an object, as :func:`json_text` has it, in pieces.

    What stands in it as an iterator becomes a list, and no more of it is there at once than a piece holds.
    """
    sign = "{\n "
    for key, value in fields.items():
        yield f"{sign}{_formatted(key)}: "
        sign = ",\n "
        if isinstance(value, Iterator):
            yield from _list_in_pieces(value)
        else:
            yield _deeper(_formatted(value))
    yield "\n}\n" if fields else "{}\n"


def json_spelled(text: str) -> str:
    """Return a text as it stands within JSON, without the marks around it."""
    return _formatted(text)[1:-1]


def _list_in_pieces(items: Iterator[object]) -> Iterator[str]:
    sign = "["
    while some := list(islice(items, _PIECE)):
        # The brackets of this piece's own list are left out.
        yield sign + _deeper(_formatted(some)[1:-2])
        sign = ","
    yield "[]" if sign == "[" else "\n ]"


def _deeper(text: str) -> str:
    """Return JSON indented by one more; within its texts a line's end is an escape."""
    return text.replace("\n", "\n ")


def _formatted(data: object) -> str:
    plain = json_data(data)
    try:
        text = msgspec.json.format(msgspec.json.encode(plain), indent=1).decode()
    except UnicodeEncodeError:  # half a surrogate pair, of a file's name or a damaged cell
        text = json.dumps(plain, ensure_ascii=False, indent=1, allow_nan=False)
    return _OBEYED.sub(lambda found: f"\\u{ord(found[0]):04x}", text)


def json_data(data: object) -> object:
    """Return *data* as what JSON holds: dictionaries, lists, texts, numbers to six digits, null for an open end."""
    if isinstance(data, float):
        return round(data, _DIGITS) + 0.0 if math.isfinite(data) else None
    if isinstance(data, dict):
        return {key: json_data(inner) for key, inner in data.items()}
    if isinstance(data, list | tuple):
        return [json_data(inner) for inner in data]
    if isinstance(data, Interval):
        return [json_data(float(data.low)), json_data(float(data.high))]
    return json_data(to_builtins(data)) if isinstance(data, Struct) else data
