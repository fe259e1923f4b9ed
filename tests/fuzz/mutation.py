"""Damaged copies of real forms of input, at the level of bytes, cells and rows; the same seed gives the same copies."""

from __future__ import annotations

import io
import random
import zipfile
from collections.abc import Callable

NASTY_CELLS = (
    b"",
    b"0",
    b"-0",
    b"1e400",
    b"-1e-400",
    b"nan",
    b"inf",
    b"1,5",
    b"1.234,5",
    b"12.000",
    b"5 kg",
    b"510,9",
    b"0402",
    b"1E5",
    b"\xff\xfe",
    b"\x00",
    b"\xc3\x28",
    b'"',
    b"'",
    b'""',
    b"=1+1",
    b"[/red]",
    b"<b>&",
    b"../../x",
    b"R1-R9999999",
    b"C1, C1, C1",
    b"A" * 5000,
    b"\xe2\x80\xae",
    "−1,6 mm".encode(),
    "１２".encode(),
    b"R1..R3",
    b"10**10**10",
    b"not fitted",
    b"top bottom",
    b";",
    b"\t",
    b"|",
    b"\r",
    b"\n\n\n",
    b"#",
    b"//",
    b"9" * 400,
    b"1;2;3;4;5;6;7;8",
    b"mm",
    b"mil",
    b"(1, 2)",
)  # what cells of customers' files have held, and what breaks readers
SEPARATORS = (b",", b";", b"\t", b"|", b" ", b"=", b"\n")


def mutated(data: bytes, rng: random.Random) -> bytes:
    """Return *data* with one to six damages."""
    for _ in range(rng.choice((1, 1, 1, 2, 3, 6))):
        data = rng.choice(DAMAGES)(data, rng)
    return data


def mutated_within(data: bytes, rng: random.Random) -> bytes:
    """Return a ZIP file with one of its members damaged, or the file itself; any other file as :func:`mutated`."""
    if not data.startswith(b"PK") or rng.random() < 0.2:
        return mutated(data, rng)
    with zipfile.ZipFile(io.BytesIO(data)) as whole:
        members = [(entry.filename, whole.read(entry)) for entry in whole.infolist() if not entry.is_dir()]
    at = max(rng.sample(range(len(members)), 2), key=lambda k: len(members[k][1])) if len(members) > 1 else 0
    members[at] = (members[at][0], mutated(members[at][1], rng))
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as made:
        for name, content in members:
            made.writestr(zipfile.ZipInfo(name), content, zipfile.ZIP_DEFLATED)
    return out.getvalue()


def _span(data: bytes, rng: random.Random, most: int = 64) -> tuple[int, int]:
    start = rng.randrange(len(data) + 1)
    return start, min(len(data), start + rng.randrange(most + 1))


def _flip(data: bytes, rng: random.Random) -> bytes:
    if not data:
        return data
    at = rng.randrange(len(data))
    return data[:at] + bytes([data[at] ^ (1 << rng.randrange(8))]) + data[at + 1 :]


def _drop(data: bytes, rng: random.Random) -> bytes:
    start, end = _span(data, rng)
    return data[:start] + data[end:]


def _repeat(data: bytes, rng: random.Random) -> bytes:
    start, end = _span(data, rng, 400)
    return data[:end] + data[start:end] * rng.choice((1, 1, 2, 40)) + data[end:]


def _truncate(data: bytes, rng: random.Random) -> bytes:
    return data[: rng.randrange(len(data) + 1)]


def _insert(data: bytes, rng: random.Random) -> bytes:
    at = rng.randrange(len(data) + 1)
    return data[:at] + rng.choice((rng.randbytes(rng.randrange(1, 9)), rng.choice(NASTY_CELLS))) + data[at:]


def _cell(data: bytes, rng: random.Random) -> bytes:
    """Put another cell between two separators."""
    mark = rng.choice([s for s in SEPARATORS if s in data] or [b""])
    if not mark:
        return data
    cells = data.split(mark)
    at = rng.randrange(len(cells))
    cells[at] = rng.choice((*NASTY_CELLS, rng.choice(cells)))
    return mark.join(cells)


def _rows(data: bytes, rng: random.Random) -> bytes:
    """Drop, repeat, exchange or shuffle lines."""
    rows = data.split(b"\n")
    at = rng.randrange(len(rows))
    what = rng.randrange(4)
    if what == 0:
        del rows[at]
    elif what == 1:
        rows[at:at] = [rows[at]] * rng.choice((1, 2, 30))
    elif what == 2:
        other = rng.randrange(len(rows))
        rows[at], rows[other] = rows[other], rows[at]
    else:
        rng.shuffle(rows)
    return b"\n".join(rows)


def _separator(data: bytes, rng: random.Random) -> bytes:
    """Exchange one separator for another, everywhere or once."""
    old, new = rng.sample(SEPARATORS, 2)
    return data.replace(old, new, rng.choice((-1, 1)))


DAMAGES: tuple[Callable[[bytes, random.Random], bytes], ...] = (
    _flip,
    _drop,
    _repeat,
    _truncate,
    _insert,
    _cell,
    _cell,
    _cell,
    _rows,
    _rows,
    _separator,
)
