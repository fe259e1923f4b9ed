"""Names of parts that are no lead-frame package: drilled parts, connectors, crystals, cans, inductors, lamps.

Each gives what its name states and no more: a header has pins and pitch but no height.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Final

from msgspec import Struct

from capcheck.model import LeadStyle, Mounting, Packaging
from capcheck.packages.candidate import Candidate
from capcheck.packages.names import cans
from capcheck.packages.names.named_device import named_device
from capcheck.packages.names.round_bodies import as_round
from capcheck.packages.names.written_sizes import WrittenSize, WrittenSizes, sizes_in
from capcheck.packages.tables import Family, meanings, part_words, rows_of
from capcheck.values import Interval, pattern

_WORDS: Final = {meaning: frozenset(words) for meaning, words in part_words()["device"].items()}
_SURFACE, _HOLE, _HOLE_PACKAGES = _WORDS["surface"], _WORDS["drilled"], _WORDS["drilled package"]
_DIP_SWITCHES: Final = _WORDS["switch"] | {"DIPSW", "DIPSWITCH", "SPST"}
"""Of a switch DIP says its form: it is sold for both mountings, and a number behind it counts its poles."""
_BOXES: Final = meanings("box")
ANY: Final = frozenset().union(
    *(words for meaning, words in _WORDS.items() if meaning not in {"surface", "touched", "wired crystal"}),
    _BOXES,
    ("JUMPER", "CAN", "XL", "XH", "TO", "DO", "HC", "IPAK", "PAK", "BD", "CP", "TP", "CAP"),
)
"""Without one of these runs of letters a name is none of a device."""
_ALONE: Final = pattern(r"(?<![A-Z0-9])SM(?![A-Z0-9])|HC[-_ ]?49.*SM")
_AXES: Final = pattern(r"(?<![A-Z])(?:CO|BI|TRI|\d)-AXIAL")
_HOLE_NUMBERS: Final = pattern(
    r"(?<![A-Z0-9])(?:TO[-_]?(?:3PB?|3|5|8|18|39|46|72)|TO[-_ ]?(?:92|126|218|220|247|251|262|264|273))(?![0-9.A-Z])"
    r"|(?<![A-Z0-9])(?:DO[-_]?(?:7|15|27|34|35|41|201|201AD|204)(?![0-9]))"
    r"|(?<![A-Z0-9])(?:HC[-_ ]?49(?!.*SM)|HC[-_ ]?18|I2?PAK(?![A-Z]))"
    r"|^R[-_]6(?![0-9])",
)
"""Outline numbers of drilled parts. One digit needs its hyphen: "1.71 V to 3.6 V" names no TO-3."""
_ROWS_APART: Final = pattern(r"(?<![A-Z])W7\.62(?:MM)?(?!\d).*(?<![A-Z])P2\.54|P2\.54.*(?<![A-Z])W7\.62(?:MM)?(?!\d)")
"""The rows of a drilled switch stand 0.3 inch apart, its pins 0.1 inch; lands of such a pitch lie wider or closer."""
_LANDS: Final = frozenset(("EP", "TABPIN"))
"""Words for a pad under the body or a tab that is a land: no drilled part has one."""
_CRYSTAL_CODE: Final = pattern(
    r"(?<![\d.])(10|12|16|20|25|32|40|49|50|60|70|80)(08|10|12|16|15|20|25|32|35|38|45|50)(?![\d.])"
)
_LED_CODE: Final = pattern(r"(?<!\d)(\d{4})(?!\d)")
_HC_49: Final = pattern(r"HC[-_ ]?49")
_WITH_WIRES: Final = pattern(
    r"HC[-_ ]?(?:18|33|49|5[02])(?!.*SM).*(?:VERT|HORIZ|[-_ ][VH](?![A-Z0-9]))|(?<![A-Z])(?:CYL(?:IND)?|ZYL)(?!.*SM)"
)
"""A can of a crystal that stands or lies on its wires, as its land says, or a cylinder; from memory."""
_COUNT_BY: Final = pattern(r"(?<![\d.])0?(\d{1,2})\s?X\s?0?(\d{1,3})(?![\d.]|\s?MM)")
_PINS: Final = pattern(
    r"(?:^|[-_ ])(\d{1,3})[-_ ]?(?:PIN|P|POS|WAY)S?(?![A-Z0-9])|(?<=[A-Z])[-_ ]?(\d{1,3})(?![\dX.]|\s?MM)"
)
_ROUND: Final = frozenset(("BUZZER", "SPEAKER"))
_BARE_HEIGHT: Final = pattern(r"(?<=\d)(?:MM)?[-_]H(\d{1,2})(?:MM)?(?=[-_]|$)")
"""A height in whole millimetres behind the two sides of a coil: 6.3X6.3_H3."""
_BOX_SIZE: Final = pattern(r"(?<![\d.])(\d{1,2}(?:\.\d{1,2})?)X(\d{1,2}(?:\.\d{1,2})?)(?![\d.]*X\d*[A-Z])")
_LEAST_BARE_MM: Final = 3.0
"""A bare 4x1 counts positions as often as it is a size; both sides of a switch or a box are larger."""


_KEYED_SOCKET: Final = pattern(r"(?<![A-Z])(?:M[-_. ]?2|NGFF)(?!\d)")


def read(name: str, text: str, letters: frozenset[str]) -> tuple[Candidate, ...]:
    """Return what a device name says; nothing where it is none.

    *name* is normalised, *text* as written, *letters* the runs of letters in the name.
    """
    if any(run.startswith(("SMD", "SMT")) for run in letters):
        letters |= {"SMD"}  # SMDSocket says it as well
    if "SM" in letters and not _ALONE.search(name):
        letters -= {"SM"}  # the end of a maker's number, as in QX398SM
    if "AXIAL" in letters and _AXES.search(name):
        letters -= {"AXIAL"}  # a co-axial plug, a 3-axial sensor
    if "KEY" in letters and _KEYED_SOCKET.search(name):
        letters -= {"KEY"}  # the form of a card's edge, as in M.2 key E
    if letters.isdisjoint(ANY):
        return ()
    for matches, make in _KINDS:
        if matches(name, letters):
            found = make(name, text, letters)
            if found is not None:
                return (found,)
    return ()


def _mounting(letters: frozenset[str]) -> Mounting | None:
    if letters & _HOLE or {"THROUGH", "HOLE"} <= letters:
        return Mounting.THROUGH_HOLE
    return Mounting.SURFACE if letters & _SURFACE or {"SURFACE", "MOUNT"} <= letters else None


def _counted(name: str) -> int | None:
    if match := _COUNT_BY.search(name):
        return int(match[1]) * int(match[2]) or None
    match = _PINS.search(name)
    return (int(match[1] or match[2]) or None) if match else None


_HAS_HOLES: Final = pattern(r"\d.*MOUNTING[-_ ]?HOLES")


def _not_placed(name: str, text: str, letters: frozenset[str]) -> Candidate | None:
    named_part = letters & (_SURFACE | _WORDS["connector"] | _WORDS["header"] | _WORDS["switch"])
    if named_part or _HAS_HOLES.search(name):
        return None  # a connector may have mounting holes
    kind = "fiducial" if letters & {"FIDUCIAL", "FIDUCIALS", "FID"} else "feature of the board"
    return named_device(text, kind, mounting=Mounting.NONE)


def _bare_land(_name: str, text: str, letters: frozenset[str]) -> Candidate | None:
    """Return a land that a probe, a spring pin or a wire meets, or a solder jumper: copper and no part."""
    if letters & (_SURFACE | _HOLE | {"EP", "THERMAL"}):
        return None
    return named_device(text, "bare land", mounting=Mounting.NONE)


def _is_bare_land(_name: str, letters: frozenset[str]) -> bool:
    if letters & _WORDS["bare land"] or {"SOLDER", "JUMPER"} <= letters:
        return True
    return bool(letters & _WORDS["land"] and letters & _WORDS["touched"])


def _test_point(_name: str, text: str, letters: frozenset[str]) -> Candidate:
    mounting = (
        Mounting.THROUGH_HOLE if letters & _HOLE or "LOOP" in letters else Mounting.NONE if "PAD" in letters else None
    )
    return named_device(text, "test point", mounting=mounting, family_key=Family.TEST_POINT)


def _header(name: str, text: str, letters: frozenset[str]) -> Candidate:
    # A catalogue's "CONN HEADER …", or one on 1.27 mm, may be either; a land pattern's HDR or PinHeader is drilled.
    either = " " in name or letters & {"CONN", "CONNECTOR"} or "1.27" in name
    mounting = _mounting(letters) or (None if either else Mounting.THROUGH_HOLE)
    sizes = sizes_in(name)
    return named_device(
        text,
        "pin header",
        WrittenSizes(pitch=sizes.pitch),
        mounting=mounting,
        pins=_counted(name),
        family_key=Family.CONNECTOR,
        hidden_joints=False if mounting is Mounting.THROUGH_HOLE else None,
    )


def _connector(name: str, text: str, letters: frozenset[str]) -> Candidate:
    pitch = WrittenSizes(pitch=sizes_in(name).pitch)
    return named_device(text, "connector", pitch, mounting=_mounting(letters), family_key=Family.CONNECTOR)


def _through_hole(name: str, text: str, letters: frozenset[str]) -> Candidate | None:
    if letters & (_SURFACE | _LANDS) or "MINI" in letters:
        return None
    sizes = sizes_in(name)
    match = re.search(r"(?:DIP|DIL|SIP|SIL|ZIP)[-_ ]?(\d{1,2})(?!\d)", name) if letters & _HOLE_PACKAGES else None
    kind = "dual in-line package" if letters & _HOLE_PACKAGES else "through-hole part"
    return named_device(
        text,
        kind,
        WrittenSizes(pitch=sizes.pitch, sides=sizes.sides if "L" in sizes.labels else ()),
        mounting=Mounting.THROUGH_HOLE,
        pins=int(match[1]) if match else None,
        hidden_joints=False,
        supply=Packaging.STICK if match else None,
    )


def _crystal(name: str, text: str, letters: frozenset[str]) -> Candidate | None:
    mounting = _mounting(letters)
    if mounting is Mounting.THROUGH_HOLE:
        return _through_hole(name, text, letters)
    mounting = mounting or (Mounting.THROUGH_HOLE if _WITH_WIRES.search(name) else None)
    key = Family.OSCILLATOR if letters & _WORDS["oscillator"] else Family.CRYSTAL
    sizes = sizes_in(name, whole=True)
    if mounting is Mounting.SURFACE and not sizes.sides and _HC_49.search(name):
        return _low_can_crystal(text)
    if not sizes.sides and (code := _CRYSTAL_CODE.search(name)):
        both = tuple(WrittenSize(int(c) / 10, Interval.about(int(c) / 10, 0.05)) for c in code.groups())
        sizes = WrittenSizes(sides=both, height=sizes.height)
    if mounting is None and sizes.sides:
        mounting = Mounting.SURFACE
    match = re.search(r"(?<!\d)([2-6])[-_ ]?P(?:IN)?(?![A-Z0-9])", name)
    flat = not letters & _WORDS["wired crystal"] and sizes.sides and max(s.value for s in sizes.sides) <= 8
    return named_device(
        text,
        key,
        sizes,
        mounting=mounting,
        family_key=key,
        pins=int(match[1]) if match else None,
        lead_style=LeadStyle.NO_LEAD if flat else None,
        hidden_joints=None,
    )


def _low_can_crystal(text: str) -> Candidate:
    """Return the welded can HC-49/US with its leads formed flat; size from memory, so it is wide."""
    return named_device(
        text,
        "crystal HC-49/US",
        mounting=Mounting.SURFACE,
        family_key=Family.CRYSTAL,
        lead_style=LeadStyle.GULL_WING,
        pins=2,
        length=Interval(10.7, 12.0),
        width=Interval(4.4, 5.1),
        height=Interval.at_most(5.2),
        nominal_length=Interval.exactly(11.4),
        nominal_width=Interval.exactly(4.7),
        span=Interval(12.0, 14.0),
        hidden_joints=False,
    )


def _can(name: str, text: str, letters: frozenset[str]) -> Candidate | None:
    if letters & _HOLE:
        return _through_hole(name, text, letters)
    diameter, height = cans.diameter_and_height(name, sizes_in(name, whole=True))
    if diameter is None:
        return named_device(
            text,
            "aluminium electrolytic can",
            mounting=Mounting.SURFACE,
            lead_style=LeadStyle.CAN,
            family_key=Family.CAN_CAPACITOR,
            polarised=True,
        )
    base = cans.base_of(diameter) or Interval(diameter - 0.1, 1.08 * diameter + 0.2)
    return named_device(
        text,
        f"aluminium electrolytic can {diameter:g} mm",
        mounting=Mounting.SURFACE,
        lead_style=LeadStyle.CAN,
        family_key=Family.CAN_CAPACITOR,
        length=base,
        width=base,
        nominal_length=Interval.exactly(diameter),
        nominal_width=Interval.exactly(diameter),
        height=cans.height_of(height) if height else None,
        polarised=True,
        pins=2,
        hidden_joints=False,
    )


def _inductor(name: str, text: str, letters: frozenset[str]) -> Candidate | None:
    if letters & _HOLE:
        return _through_hole(name, text, letters)
    sizes = as_round(sizes_in(name, whole=True), name)
    if not sizes.sides:
        return _drum(text, sizes)
    if sizes.height is None and (bare := _BARE_HEIGHT.search(name)):
        value = float(bare[1])
        sizes = WrittenSizes(sides=sizes.sides, height=WrittenSize(value, Interval.exactly(value)))
    return named_device(text, "inductor", sizes, mounting=Mounting.SURFACE, family_key=Family.MOLDED_INDUCTOR, pins=2)


def _drum(text: str, sizes: WrittenSizes) -> Candidate | None:
    """Return a drum of a stated diameter: its base is cut on two sides or stands out, by a tenth (from memory)."""
    if sizes.diameter is None:
        return None
    across = sizes.diameter.value
    height = None if sizes.height is None else Interval.about(sizes.height.value, min(0.3, 0.1 * sizes.height.value))
    return named_device(
        text,
        "inductor",
        length=Interval(0.95 * across, 1.1 * across),
        width=Interval(0.8 * across, 1.1 * across),
        nominal_length=Interval.exactly(across),
        nominal_width=Interval.exactly(across),
        height=height,
        mounting=Mounting.SURFACE,
        family_key=Family.MOLDED_INDUCTOR,
        pins=2,
    )


class _Lamp(Struct, frozen=True):
    """A body by the code in a lamp's name; *least_mm* is its length without the leads that the code counts."""

    code: str
    length_mm: float
    width_mm: float
    source: str
    least_mm: float | None = None


def _led(name: str, text: str, letters: frozenset[str]) -> Candidate | None:
    if letters & _HOLE or (re.search(r"LED[-_ ]?D\d", name) and "SMD" not in letters):
        return _through_hole(name, text, letters)
    sizes = sizes_in(name, whole=True)
    lamps = {row.code: ((row.length_mm, row.least_mm), (row.width_mm, None)) for row in rows_of("lamp_bodies", _Lamp)}
    code = next((m[1] for m in _LED_CODE.finditer(name) if m[1] in lamps), None)
    if not sizes.sides and code is not None:
        both = tuple(WrittenSize(v, Interval.about(v, 0.1).hull(Interval.exactly(low or v))) for v, low in lamps[code])
        sizes = WrittenSizes(sides=both, height=sizes.height)
    if not sizes.sides and "PLCC" not in letters:
        return None
    match = re.search(r"(?:PLCC[-_ ]?|(?<![\d.])(?=\d[-_ ]?P))([2468])(?:[-_ ]?P(?:IN)?)?(?![A-Z0-9.])", name)
    style = LeadStyle.MOLDED if "PLCC" in letters or code in {"5050", "3528", "7070"} else None
    return named_device(
        text,
        f"LED {code}" if code else "LED",
        WrittenSizes(sides=sizes.sides, height=sizes.height),
        mounting=None if "RECT" in name or "ROUND" in name else Mounting.SURFACE,
        family_key=Family.MOLDED_LED if style else Family.CHIP_LED,
        lead_style=style,
        polarised=True,
        pins=int(match[1]) if match else None,
    )


def _box_sizes(name: str) -> WrittenSizes:
    """Return the sizes of a part that may be named by bare whole numbers, such as 6x6, if both can be millimetres."""
    stated = sizes_in(name)
    if stated.sides or (match := _BOX_SIZE.search(name)) is None or min(map(float, match.groups())) < _LEAST_BARE_MM:
        return stated
    bare = sizes_in(name, whole=True)
    return WrittenSizes(sides=bare.sides, height=bare.height)


def _switch(name: str, text: str, letters: frozenset[str]) -> Candidate:
    sizes = _box_sizes(name)
    mounting = _mounting(letters) or (Mounting.THROUGH_HOLE if "DIP" in letters and _ROWS_APART.search(name) else None)
    return named_device(
        text,
        "switch",
        WrittenSizes(sides=sizes.sides, height=sizes.height),
        mounting=mounting,
        family_key=Family.SWITCH,
    )


def _shield(name: str, text: str, _letters: frozenset[str]) -> Candidate:
    return named_device(text, "shield", _box_sizes(name), mounting=Mounting.SURFACE, family_key=Family.SHIELD)


def _box(name: str, text: str, letters: frozenset[str]) -> Candidate | None:
    sizes = _box_sizes(name)
    if letters & _HOLE or not sizes.sides:
        return None
    one, other = (side.value for side in sizes.sides)
    if letters & _ROUND and one != other and sizes.height is None:
        return None  # a sounder's two numbers are diameter and height
    family = next(family for word, family in _BOXES.items() if word in letters)
    return named_device(
        text,
        family,
        WrittenSizes(sides=sizes.sides, height=sizes.height),
        mounting=_mounting(letters),
        family_key=Family(family),
    )


_Kind = tuple[Callable[[str, frozenset[str]], bool], Callable[[str, str, frozenset[str]], Candidate | None]]
_KINDS: Final[tuple[_Kind, ...]] = (
    (lambda _n, w: bool(w & _WORDS["not placed"]), _not_placed),
    (_is_bare_land, _bare_land),
    (lambda n, w: bool(w & _WORDS["test point"]) or bool(re.match(r"TP[-_]?\d", n)), _test_point),
    (lambda _n, w: bool(w & _WORDS["header"]), _header),
    (lambda _n, w: bool(w & _WORDS["connector"]) and not w & _WORDS["switch"], _connector),
    (lambda _n, w: bool(w & _WORDS["shield"]), _shield),
    (
        lambda n, w: bool(w & (_WORDS["crystal"] | _WORDS["oscillator"])) or bool(w & _SURFACE and _HC_49.search(n)),
        _crystal,
    ),
    (cans.is_can, _can),
    (
        lambda n, w: (
            (bool(w & _HOLE_PACKAGES) and not w & _DIP_SWITCHES and not w & _SURFACE)
            or (bool(_HOLE_NUMBERS.search(n)) and not w & _SURFACE)
        ),
        _through_hole,
    ),
    (lambda n, w: bool(w & _WORDS["led"]) and bool(re.match(r"(?:[A-Z]+[-_ ])?(?:LED|RGB)", n)), _led),
    (lambda n, w: bool(w & _WORDS["inductor"]) and bool(re.match(r"(?:L|IND|INDUCTOR|CHOKE|COIL)[-_ ]", n)), _inductor),
    (lambda _n, w: bool(w & _WORDS["switch"]), _switch),
    (lambda _n, w: not w.isdisjoint(_BOXES), _box),
    (lambda _n, w: bool(w & _HOLE), _through_hole),
)
