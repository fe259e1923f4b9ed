"""What goes between a command and the process that reads for it: frames of MessagePack behind their length.

Nothing is ever unpickled: a frame is decoded into the records that the asker expects, or it is an error.
"""

from __future__ import annotations

from typing import IO, Final, TypeVar, get_origin

import msgspec
from msgspec import Struct

from capcheck.intake.confined.patience import Patient
from capcheck.model import Said
from capcheck.values import Problem

Record = TypeVar("Record")
_LENGTH: Final = 8
LARGEST: Final = 64 * 1024 * 1024
"""Bytes of the longest answer: the cells of 100,000 rows have about 20 MB."""

_NO_ANSWER: Final = msgspec.Raw(msgspec.msgpack.encode(None))


class Request(Struct, frozen=True):
    """A file to be read by a *function* of the program, given as ``module:name``.

    *libraries* are imported before the limits hold; a request of none but these has no file, and no answer.
    """

    function: str
    libraries: tuple[str, ...] = ()
    file: str | None = None
    argument: bytes = b""
    """What the function is told beside the file, encoded."""
    folder: str = ""
    """The folder that a relative path starts from."""
    seconds: float = 0.0
    """Processor time that reading may take."""


class Reply(Struct, frozen=True):
    """What became of a request: an answer, problems of the input, or the words of an exception."""

    answer: msgspec.Raw = _NO_ANSWER
    problems: tuple[Problem, ...] = ()
    broke: str = ""
    out_of_time: bool = False
    seconds: float = 0.0
    """Processor time that it took."""


def write_frame(stream: IO[bytes], body: bytes) -> None:
    """Write one frame and send it off."""
    stream.write(len(body).to_bytes(_LENGTH, "big") + body)
    stream.flush()


def read_frame(stream: IO[bytes] | Patient) -> bytes | None:
    """Return the next frame; None where the stream ends, within a frame too, or announces too long a one."""
    head = stream.read(_LENGTH)
    length = int.from_bytes(head, "big")
    if len(head) < _LENGTH or length > LARGEST:
        return None
    body = stream.read(length)
    return body if len(body) == length else None


def encoded(record: object) -> bytes:
    """Return a record as MessagePack; arrays become lists of numbers."""
    return msgspec.msgpack.encode(record, enc_hook=_plain)


def decoded(data: bytes | msgspec.Raw, form: type[Record]) -> Record:
    """Return the record of type *form* that *data* holds. Raises :class:`msgspec.MsgspecError` where it holds none."""
    return msgspec.msgpack.decode(data, type=form, dec_hook=_restored)


def _plain(value: object) -> object:
    import numpy as np

    if isinstance(value, np.ndarray | np.generic):
        return value.tolist()
    from shapely.geometry import mapping
    from shapely.geometry.base import BaseGeometry

    if isinstance(value, BaseGeometry):
        return mapping(value)
    raise TypeError(f"{type(value).__name__} is no plain data")


def _restored(form: type, value: object) -> object:
    """Return an array from lists of numbers; for a value of any type, a statement or a contour where it holds one."""
    if form is object:
        return _any(value)
    import numpy as np

    if get_origin(form) is not np.ndarray or not isinstance(value, list):
        raise ValueError("an array of numbers was expected")
    return np.array(value, dtype=np.float64)


_GEOMETRIES: Final = ({"type", "coordinates"}, {"type", "geometries"})
"""The keys of one geometry, and of several."""


def _any(value: object) -> object:
    if isinstance(value, list):
        return [_any(item) for item in value]
    if isinstance(value, dict) and value.keys() == {"key", "values"}:
        return msgspec.convert(value, Said, dec_hook=_restored)
    if isinstance(value, dict) and value.keys() in _GEOMETRIES:
        from shapely.geometry import shape

        return shape(value)
    return value
