"""JSON text of data and structs: open ends are null, numbers carry no noise, and the order is always the same."""

from __future__ import annotations

import json
import math
from typing import Final

import msgspec
from msgspec import Struct, to_builtins

from capcheck.values import Interval, pattern

_OBEYED: Final = pattern("[\x7f-\x9f\u2028-\u202e\u2066-\u2069\ud800-\udfff]")
_DIGITS: Final = 6
"""After the decimal point: nanometres of a millimetre, microseconds of a second."""


def json_text(data: object) -> str:
    """Return *data* as JSON text, readable and without NaN; structs may stand in it, and intervals as their ends.

    What a terminal obeys, what turns the direction of writing and what UTF-8 has no way to write stands as an escape.
    """
    plain = json_data(data)
    try:
        text = msgspec.json.format(msgspec.json.encode(plain), indent=1).decode()
    except UnicodeEncodeError:  # half a surrogate pair, of a file's name or a damaged cell
        text = json.dumps(plain, ensure_ascii=False, indent=1, allow_nan=False)
    text += "\n"
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
