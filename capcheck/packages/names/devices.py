"""Names of parts that are no lead-frame package: drilled parts, connectors, crystals, cans, inductors, lamps.

Each gives what its name states and no more: a header has pins and pitch but no height.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Final

from capcheck.model import Basis
from capcheck.packages.candidate import Reading, Trust, sides
from capcheck.packages.names import can_names
from capcheck.packages.names.package_words import Size, Sizes, sizes_in
from capcheck.packages.tables import base_of
from capcheck.values import Interval, pattern

_SURFACE: Final = frozenset(("SMD", "SMT", "SM"))
_HOLE: Final = frozenset(("TH", "THT", "PTH", "THD", "AXIAL", "RADIAL"))
_HOLE_PACKAGES: Final = frozenset(("DIP", "PDIP", "CDIP", "CERDIP", "SPDIP", "DIL", "SIP", "SIL", "ZIP"))
_HOLE_NUMBERS: Final = pattern(
    r"(?<![A-Z0-9])(?:TO[-_]?(?:3PB?|3|5|8|18|39|46|72)|TO[-_ ]?(?:92|126|218|220|247|251|262|264|273))(?![0-9.A-Z])"
    r"|(?<![A-Z0-9])(?:DO[-_]?(?:7|15|27|34|35|41|201|201AD|204)(?![0-9]))"
    r"|(?<![A-Z0-9])(?:HC[-_ ]?49(?!.*SM)|HC[-_ ]?18|I2?PAK(?![A-Z]))"
    r"|^R[-_]6(?![0-9])",
)
"""Outline numbers of drilled parts. One digit needs its hyphen: "1.71 V to 3.6 V" names no TO-3."""
_HEADERS: Final = frozenset(
    ("PINHEADER", "PINSOCKET", "HDR", "HEADER", "HEADERS", "PINHDR", "PINHD", "SOCKETSTRIP", "HDRF", "CONHDR")
)
_CONNECTORS: Final = frozenset(
    (
        "CONN",
        "CONNECTOR",
        "CONNECTORS",
        "USB",
        "HDMI",
        "RJ",
        "FPC",
        "FFC",
        "RECEPTACLE",
        "JACK",
        "PLUG",
        "SOCKET",
        "TERMINALBLOCK",
        "SCREWTERMINAL",
        "TERMINAL",
        "BARRELJACK",
        "DSUB",
        "MICROSD",
        "MICROUSB",
        "MINIUSB",
        "SIMCARD",
        "BATTERYHOLDER",
        "CARDEDGE",
        "UFL",
        "BTB",
        "MEZZANINE",
        "COAX",
        "BARREL",
        "IDC",
        "DISPLAYPORT",
        "TYPEC",
    ),
)
_SWITCHES: Final = frozenset(("SW", "SWITCH", "BUTTON", "BTN", "TACT", "KEY", "PUSHBUTTON"))
_DIP_SWITCHES: Final = _SWITCHES | {"DIPSW", "DIPSWITCH", "SPST"}
"""Of a switch DIP says its form: it is sold for both mountings, and a number behind it counts its poles."""
_ROWS_APART: Final = pattern(r"(?<![A-Z])W7\.62(?:MM)?(?!\d)")
"""The rows of a drilled switch stand 0.3 inch apart; lands lie wider or, for leads bent under, closer."""
_NOT_PLACED: Final = frozenset(
    (
        "FIDUCIAL",
        "FIDUCIALS",
        "FID",
        "MOUNTINGHOLE",
        "MOUNTINGHOLES",
        "LOGO",
        "SYMBOL",
        "SOLDERJUMPER",
        "NETTIE",
        "TOOLINGHOLE",
        "PANELHOLE",
        "MOUSEBITES",
    ),
)
_LANDS: Final = frozenset(
    ("LANDPAD", "LANDPADS", "POGOPAD", "POGOPADS", "PROBEPAD", "PROBEPADS", "WIREPAD", "WIREPADS"),
)
_PAD: Final = frozenset(("PAD", "PADS", "LAND", "LANDS"))
_TOUCHED: Final = frozenset(("POGO", "PROBE", "PROG", "DEBUG", "TEST", "TOUCH", "WIRE", "CONTACT", "PROGRAMMING"))
_TEST: Final = frozenset(("TESTPOINT", "TESTPAD", "TESTPOINTS"))
_CRYSTALS: Final = frozenset(("CRYSTAL", "XTAL", "XTL", "QUARTZ", "RESONATOR"))
_WIRED: Final = frozenset(("CYL", "CYLINDER", "CYLINDRICAL", "TUBE"))
"""Words for a crystal in a tube, whose wires are soldered down."""
_OSCILLATORS: Final = frozenset(("OSCILLATOR", "OSC", "TCXO", "VCXO", "OSCILATOR", "XO"))
_INDUCTORS: Final = frozenset(("L", "IND", "INDUCTOR", "CHOKE", "COIL"))
_LEDS: Final = frozenset(("LED", "LEDS", "RGB"))
_SHIELDS: Final = frozenset(("SHIELD", "SHIELDING", "RFSHIELD", "RF_SHIELD", "EMISHIELD"))
_BOXES: Final = {
    "BUZZER": "sounder",
    "SPEAKER": "sounder",
    "TRANSFORMER": "transformer",
    "XFMR": "transformer",
    "RELAY": "relay",
    "MODULE": "module",
}
"""Words of parts of any size, whose name states both sides or none."""
_ANY: Final = frozenset().union(
    _HOLE,
    _HOLE_PACKAGES,
    _HEADERS,
    _CONNECTORS,
    _SWITCHES,
    _NOT_PLACED,
    _TEST,
    _CRYSTALS,
    _OSCILLATORS,
    can_names.WORDS,
    _INDUCTORS,
    _LEDS,
    _SHIELDS,
    _LANDS,
    _PAD,
    ("JUMPER",),
    tuple(_BOXES),
    ("CAN", "XL", "XH"),
    ("TO", "DO", "HC", "IPAK", "PAK", "BD", "CP", "RADIAL", "TP", "CAP"),
)

_CRYSTAL_CODE: Final = pattern(
    r"(?<![\d.])(10|12|16|20|25|32|40|49|50|60|70|80)(08|10|12|16|15|20|25|32|35|38|45|50)(?![\d.])"
)
_LED_SIZES: Final = {
    "1515": (1.5, 1.5),
    "1615": (1.6, 1.5),
    "2020": (2.0, 2.0),
    "2835": (3.5, 2.8),
    "3014": (3.0, 1.4),
    "3020": (3.0, 2.0),
    "3030": (3.0, 3.0),
    "3528": (3.5, 2.8),
    "3535": (3.5, 3.5),
    "4014": (4.0, 1.4),
    "5050": (5.0, 5.0),
    "5630": (5.6, 3.0),
    "5730": (5.7, 3.0),
    "7020": (7.0, 2.0),
    "7070": (7.0, 7.0),
}
"""Body sizes by the code in a lamp's name, in tenths of a millimetre. Common practice, from memory."""
_LED_CODE: Final = pattern(r"(?<!\d)(\d{4})(?!\d)")
_HC_49: Final = pattern(r"HC[-_ ]?49")
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


def read(name: str, text: str, letters: frozenset[str]) -> tuple[Reading, ...]:
    """Return the readings of a device name; nothing where it is none.

    *name* is normalised, *text* as written, *letters* the runs of letters in the name.
    """
    if letters.isdisjoint(_ANY):
        return ()
    for matches, make in _KINDS:
        if matches(name, letters):
            found = make(name, text, letters)
            if found is not None:
                return (found,)
    return ()


def _reading(text: str, family: str, sizes: Sizes | None = None, **said: object) -> Reading:
    """Return a reading with what the sizes state; body tolerance 0.2 mm at least, as drawings of such parts give."""
    long = short = height = pitch = nominal_long = nominal_short = None
    if sizes is not None:
        pitch = sizes.pitch.interval if sizes.pitch else None
        if sizes.sides:
            long, short = sides(
                *(s.interval.hull(Interval.about(s.value, min(0.2, 0.1 * s.value))) for s in sizes.sides)
            )
            values = sorted(s.value for s in sizes.sides)
            nominal_short, nominal_long = map(Interval.exactly, values)
        if sizes.height is not None:
            height = sizes.height.interval.hull(Interval.about(sizes.height.value, min(0.2, 0.1 * sizes.height.value)))
    fields: dict[str, object] = {
        "length": long,
        "width": short,
        "height": height,
        "pitch": pitch,
        "nominal_length": nominal_long,
        "nominal_width": nominal_short,
        "family": family,
        **said,
    }
    return Reading(
        source=f'"{text}" as a name: {family}',
        basis=Basis.DECODED,
        trust=Trust.PACKAGE_NAME,
        text=text,
        **fields,  # type: ignore[arg-type]
    )


def _mounting(letters: frozenset[str]) -> str | None:
    if letters & _HOLE or {"THROUGH", "HOLE"} <= letters:
        return "through hole"
    return "surface" if letters & _SURFACE or {"SURFACE", "MOUNT"} <= letters else None


def _counted(name: str) -> int | None:
    if match := _COUNT_BY.search(name):
        return int(match[1]) * int(match[2]) or None
    match = _PINS.search(name)
    return (int(match[1] or match[2]) or None) if match else None


def _not_placed(_name: str, text: str, letters: frozenset[str]) -> Reading | None:
    if letters & {"SMD", "SMT", "RECEPTACLE"}:
        return None
    kind = "fiducial" if letters & {"FIDUCIAL", "FIDUCIALS", "FID"} else "feature of the board"
    return _reading(text, kind, mounting="none")


def _bare_land(_name: str, text: str, letters: frozenset[str]) -> Reading | None:
    """Return a land that a probe, a spring pin or a wire meets, or a solder jumper: copper and no part."""
    if letters & (_SURFACE | _HOLE | {"EP", "THERMAL"}):
        return None
    return _reading(text, "bare land", mounting="none")


def _is_bare_land(_name: str, letters: frozenset[str]) -> bool:
    if letters & _LANDS or {"SOLDER", "JUMPER"} <= letters:
        return True
    return bool(letters & _PAD and letters & _TOUCHED)


def _test_point(_name: str, text: str, letters: frozenset[str]) -> Reading:
    mounting = "through hole" if letters & _HOLE or "LOOP" in letters else "none" if "PAD" in letters else None
    return _reading(text, "test point", mounting=mounting)


def _header(name: str, text: str, letters: frozenset[str]) -> Reading:
    # A catalogue's "CONN HEADER …" may be either kind; a land pattern's HDR or PinHeader is drilled.
    prose = " " in name or letters & {"CONN", "CONNECTOR"}
    mounting = _mounting(letters) or (None if prose else "through hole")
    sizes = sizes_in(name)
    return _reading(
        text,
        "pin header",
        Sizes(pitch=sizes.pitch),
        mounting=mounting,
        pins=_counted(name),
        family_key="connector",
        hidden_joints=False if mounting == "through hole" else None,
    )


def _connector(name: str, text: str, letters: frozenset[str]) -> Reading:
    sizes = sizes_in(name)
    return _reading(text, "connector", Sizes(pitch=sizes.pitch), mounting=_mounting(letters), family_key="connector")


def _through_hole(name: str, text: str, letters: frozenset[str]) -> Reading | None:
    if letters & _SURFACE or "MINI" in letters:
        return None
    sizes = sizes_in(name)
    pins = None
    if letters & _HOLE_PACKAGES and (match := re.search(r"(?:DIP|DIL|SIP|SIL|ZIP)[-_ ]?(\d{1,2})(?!\d)", name)):
        pins = int(match[1])
    kind = "dual in-line package" if letters & _HOLE_PACKAGES else "through-hole part"
    return _reading(
        text,
        kind,
        Sizes(pitch=sizes.pitch, sides=sizes.sides if "L" in sizes.labels else ()),
        mounting="through hole",
        pins=pins,
        hidden_joints=False,
        supply="stick" if pins else None,
    )


def _crystal(name: str, text: str, letters: frozenset[str]) -> Reading | None:
    mounting = _mounting(letters)
    if mounting == "through hole":
        return _through_hole(name, text, letters)
    key = "oscillator" if letters & _OSCILLATORS else "crystal"
    sizes = sizes_in(name, whole=True)
    if mounting == "surface" and not sizes.sides and _HC_49.search(name):
        return _low_can_crystal(text)
    if not sizes.sides and (code := _CRYSTAL_CODE.search(name)):
        both = tuple(Size(int(c) / 10, Interval.about(int(c) / 10, 0.05)) for c in code.groups())
        sizes = Sizes(sides=both, height=sizes.height)
    if mounting is None and sizes.sides:
        mounting = "surface"
    match = re.search(r"(?<!\d)([2-6])[-_ ]?P(?:IN)?(?![A-Z0-9])", name)
    flat = not letters & _WIRED and sizes.sides and max(s.value for s in sizes.sides) <= 8
    return _reading(
        text,
        key,
        sizes,
        mounting=mounting,
        family_key=key,
        pins=int(match[1]) if match else None,
        lead_style="no lead" if flat else None,
        hidden_joints=None,
    )


def _low_can_crystal(text: str) -> Reading:
    """Return the welded can HC-49/US with its leads formed flat; size from memory, so it is wide."""
    return _reading(
        text,
        "crystal HC-49/US",
        mounting="surface",
        family_key="crystal",
        lead_style="gull wing",
        pins=2,
        length=Interval(10.7, 12.0),
        width=Interval(4.4, 5.1),
        height=Interval.at_most(5.2),
        nominal_length=Interval.exactly(11.4),
        nominal_width=Interval.exactly(4.7),
        span=Interval(12.0, 14.0),
        hidden_joints=False,
    )


def _can(name: str, text: str, letters: frozenset[str]) -> Reading | None:
    if letters & _HOLE:
        return _through_hole(name, text, letters)
    diameter, height = can_names.diameter_and_height(name, sizes_in(name, whole=True))
    if diameter is None:
        return _reading(
            text,
            "aluminium electrolytic can",
            mounting="surface",
            lead_style="can",
            family_key="can capacitor",
            polarised=True,
        )
    base = base_of(diameter) or Interval(diameter - 0.1, 1.08 * diameter + 0.2)
    return _reading(
        text,
        f"aluminium electrolytic can {diameter:g} mm",
        mounting="surface",
        lead_style="can",
        family_key="can capacitor",
        length=base,
        width=base,
        nominal_length=Interval.exactly(diameter),
        nominal_width=Interval.exactly(diameter),
        height=Interval(height - 0.3, height + 0.5) if height else None,
        polarised=True,
        pins=2,
        hidden_joints=False,
    )


def _inductor(name: str, text: str, letters: frozenset[str]) -> Reading | None:
    if letters & _HOLE:
        return _through_hole(name, text, letters)
    sizes = sizes_in(name, whole=True)
    if not sizes.sides and sizes.diameter is not None:
        return _drum(text, sizes)
    if not sizes.sides:
        return None
    if sizes.height is None and (bare := _BARE_HEIGHT.search(name)):
        value = float(bare[1])
        sizes = Sizes(sides=sizes.sides, height=Size(value, Interval.exactly(value)))
    return _reading(text, "inductor", sizes, mounting="surface", family_key="molded inductor", pins=2)


def _drum(text: str, sizes: Sizes) -> Reading | None:
    """Return a drum of a stated diameter: its base is cut on two sides or stands out, by a tenth (from memory)."""
    if sizes.diameter is None:
        return None
    across = sizes.diameter.value
    height = None if sizes.height is None else Interval.about(sizes.height.value, min(0.3, 0.1 * sizes.height.value))
    return _reading(
        text,
        "inductor",
        length=Interval(0.95 * across, 1.1 * across),
        width=Interval(0.8 * across, 1.1 * across),
        nominal_length=Interval.exactly(across),
        nominal_width=Interval.exactly(across),
        height=height,
        mounting="surface",
        family_key="molded inductor",
        pins=2,
    )


def _led(name: str, text: str, letters: frozenset[str]) -> Reading | None:
    if letters & _HOLE or (re.search(r"LED[-_ ]?D\d", name) and "SMD" not in letters):
        return _through_hole(name, text, letters)
    sizes = sizes_in(name, whole=True)
    code = next((m[1] for m in _LED_CODE.finditer(name) if m[1] in _LED_SIZES), None)
    if not sizes.sides and code is not None:
        both = tuple(Size(v, Interval.about(v, 0.1)) for v in _LED_SIZES[code])
        sizes = Sizes(sides=both, height=sizes.height)
    if not sizes.sides and "PLCC" not in letters:
        return None
    match = re.search(r"(?:PLCC[-_ ]?|(?<![\d.])(?=\d[-_ ]?P))([2468])(?:[-_ ]?P(?:IN)?)?(?![A-Z0-9.])", name)
    style = "molded" if "PLCC" in letters or code in {"5050", "3528", "7070"} else None
    return _reading(
        text,
        f"LED {code}" if code else "LED",
        Sizes(sides=sizes.sides, height=sizes.height),
        mounting=None if "RECT" in name or "ROUND" in name else "surface",
        family_key="molded led" if style else "chip led",
        lead_style=style,
        polarised=True,
        pins=int(match[1]) if match else None,
    )


def _box_sizes(name: str) -> Sizes:
    """Return the sizes of a part that may be named by bare whole numbers, such as 6x6, if both can be millimetres."""
    stated = sizes_in(name)
    if stated.sides or (match := _BOX_SIZE.search(name)) is None or min(map(float, match.groups())) < _LEAST_BARE_MM:
        return stated
    bare = sizes_in(name, whole=True)
    return Sizes(sides=bare.sides, height=bare.height)


def _switch(name: str, text: str, letters: frozenset[str]) -> Reading:
    sizes = _box_sizes(name)
    mounting = _mounting(letters) or ("through hole" if "DIP" in letters and _ROWS_APART.search(name) else None)
    return _reading(text, "switch", Sizes(sides=sizes.sides, height=sizes.height), mounting=mounting)


def _shield(name: str, text: str, _letters: frozenset[str]) -> Reading:
    return _reading(text, "shield", _box_sizes(name), mounting="surface")


def _box(name: str, text: str, letters: frozenset[str]) -> Reading | None:
    sizes = _box_sizes(name)
    if letters & _HOLE or not sizes.sides:
        return None
    one, other = (side.value for side in sizes.sides)
    if letters & _ROUND and one != other and sizes.height is None:
        return None  # a sounder's two numbers are diameter and height
    family = next(family for word, family in _BOXES.items() if word in letters)
    return _reading(text, family, Sizes(sides=sizes.sides, height=sizes.height), mounting=_mounting(letters))


_Kind = tuple[Callable[[str, frozenset[str]], bool], Callable[[str, str, frozenset[str]], Reading | None]]
_KINDS: Final[tuple[_Kind, ...]] = (
    (lambda _n, w: bool(w & _NOT_PLACED), _not_placed),
    (_is_bare_land, _bare_land),
    (lambda n, w: bool(w & _TEST) or bool(re.match(r"TP[-_]?\d", n)), _test_point),
    (lambda _n, w: bool(w & _HEADERS), _header),
    (lambda _n, w: bool(w & _CONNECTORS) and not w & _SWITCHES, _connector),
    (lambda _n, w: bool(w & _SHIELDS), _shield),
    (lambda n, w: bool(w & (_CRYSTALS | _OSCILLATORS)) or bool(w & _SURFACE and _HC_49.search(n)), _crystal),
    (can_names.is_can, _can),
    (
        lambda n, w: (
            (bool(w & _HOLE_PACKAGES) and not w & _DIP_SWITCHES and not w & _SURFACE)
            or (bool(_HOLE_NUMBERS.search(n)) and not w & _SURFACE)
        ),
        _through_hole,
    ),
    (lambda n, w: bool(w & _LEDS) and bool(re.match(r"(?:[A-Z]+[-_ ])?(?:LED|RGB)", n)), _led),
    (lambda n, w: bool(w & _INDUCTORS) and bool(re.match(r"(?:L|IND|INDUCTOR|CHOKE|COIL)[-_ ]", n)), _inductor),
    (lambda _n, w: bool(w & _SWITCHES), _switch),
    (lambda _n, w: not w.isdisjoint(_BOXES), _box),
    (lambda _n, w: bool(w & _HOLE), _through_hole),
)
