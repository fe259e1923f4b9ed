"""What in a maker's number cannot be right: a size that its scheme does not have, a value that the part has not."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from capcheck.intake import magnitude
from capcheck.packages.names.part_numbers.schemes import Scheme, starting

if TYPE_CHECKING:
    from collections.abc import Iterator

_COUNTED: Final = frozenset({"resistor", "capacitor"})
"""Parts whose numbers spell size and value in one way through a whole scheme."""
_SAME: Final = 1.001
_POINTS: Final = {"R": 1.0, "K": 1e3, "M": 1e6}
_PICO: Final = 1e-12
_THREE, _FOUR = 3, 4
_EXCHANGED: Final = 2


def unknown_size(number: str, agrees: Iterator[Scheme]) -> tuple[Scheme, str] | None:
    """Return the scheme that a number follows in all but its size, with the code that stands there; else None.

    One sign more or less than a size has may stand there too.
    """
    for scheme in agrees:
        if scheme.kind in _COUNTED and (form := scheme.form_of_any_size) and (found := form.fullmatch(number)):
            return scheme, found["size"]
    return None


def numbers_of_every_size(scheme: Scheme, number: str) -> Iterator[tuple[str, str]]:
    """Yield each size of a scheme with the number that has it where *number* has one that the scheme has not."""
    form = scheme.form_of_any_size
    found = form.fullmatch(number) if form is not None else None
    if found is not None:
        for size in scheme.sizes:
            yield size, number[: found.start("size")] + size + number[found.end("size") :]


def is_one_slip(written: str, meant: str) -> bool:
    """Whether one sign changed, left out, put in, or two neighbours exchanged make *written* of *meant*."""
    shorter, longer = sorted((written, meant), key=len)
    if len(longer) - len(shorter) == 1:
        return any(longer[:i] + longer[i + 1 :] == shorter for i in range(len(longer)))
    if len(longer) != len(shorter):
        return False
    other = [i for i, (a, b) in enumerate(zip(written, meant, strict=True)) if a != b]
    if len(other) == _EXCHANGED:
        i, k = other
        return k == i + 1 and written[i] == meant[k] and written[k] == meant[i]
    return len(other) == 1


def schemes_of(number: str) -> Iterator[Scheme]:
    """Yield the schemes that a number may follow by its first letters and digits."""
    return (entry for entry in starting(number) if isinstance(entry, Scheme))


def coded_value(scheme: Scheme, number: str) -> float | None:
    """Return the value in Ω or F that the number of a resistor or a ceramic capacitor spells; None where it is unclear.

    ``103`` is 10 · 10³, ``1002`` 100 · 10²; a letter stands for the point (IEC 60062).
    """
    match = scheme.form.fullmatch(number) if scheme.kind in _COUNTED else None
    code = match.groupdict().get("value") if match is not None else None
    if not code:
        return None
    points = [c for c in code if not c.isdigit()]
    if len(points) == 1 and points[0] in _POINTS and len(code) > 1:
        value = float(code.replace(points[0], ".")) * _POINTS[points[0]]
    elif not points and len(code) in {_THREE, _FOUR}:
        value = float(code[:-1]) * 10.0 ** int(code[-1])
    else:
        return None
    return value if scheme.kind == "resistor" else value * _PICO


def is_another_value(coded: float, stated: str, ref_prefix: str) -> bool:
    """Whether the value that a part is listed with is certainly not the one that its number spells."""
    value = magnitude(stated, ref_prefix)
    if value is None:
        return False
    if not value or not coded:
        return value != coded
    return max(value, coded) / min(value, coded) > _SAME
