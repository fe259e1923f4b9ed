"""What a name of a device states, as a candidate: its sizes with the tolerance of a name."""

from __future__ import annotations

from msgspec.structs import replace

from capcheck.model import Basis, say
from capcheck.packages.candidate import Candidate, Trust, sides
from capcheck.packages.names.written_sizes import WrittenSize, WrittenSizes
from capcheck.values import Interval


def named_device(text: str, family: str, sizes: WrittenSizes | None = None, **said: object) -> Candidate:
    """Return a candidate with what the sizes state; sides and height have the room of :func:`with_tolerance`."""
    measured: dict[str, Interval] = {}
    if sizes is not None and sizes.pitch is not None:
        measured["pitch"] = sizes.pitch.interval
    if sizes is not None and sizes.sides:
        measured["length"], measured["width"] = sides(*map(with_tolerance, sizes.sides))
        nominal_short, nominal_long = sorted(side.value for side in sizes.sides)
        measured["nominal_length"] = Interval.exactly(nominal_long)
        measured["nominal_width"] = Interval.exactly(nominal_short)
    if sizes is not None and sizes.height is not None:
        measured["height"] = with_tolerance(sizes.height)
    scheme = say("packages.device", family=family)
    device = Candidate(Basis.DECODED, Trust.PACKAGE_NAME, text=text, scheme=scheme, family=family)
    return replace(device, **measured, **said)


def with_tolerance(size: WrittenSize) -> Interval:
    """Return a written size with the room that such names leave: 0.2 mm, or a tenth of it if that is less."""
    return size.interval.hull(Interval.about(size.value, min(0.2, 0.1 * size.value)))
