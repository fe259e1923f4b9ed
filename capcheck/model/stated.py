"""board.toml: what a board's files do not say, and which of them are which.

Everything here is optional. What is stated overrides whatever the files' evidence suggests.
"""

# Annotations are not kept as text here: pydantic would compile each of them anew at every start.
from pathlib import Path
from typing import Annotated, Final, Literal, Self

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, model_validator

from capcheck.values import (
    LENGTH,
    Density,
    Length,
    Mass,
    PositiveLength,
    SignedLength,
    UnitError,
    load_toml,
    read_quantity,
    validate,
)

LengthUnit = Literal["mm", "mil", "inch", "cm", "µm"]
SideWord = Literal["top", "bottom"]
LayerName = Literal[
    "copper top",
    "copper bottom",
    "mask top",
    "mask bottom",
    "paste top",
    "paste bottom",
    "legend top",
    "legend bottom",
    "none",
]

_MOST_ENTRIES: Final = 5_000
"""Patterns of references: each is held against each reference, and no board needs so many."""
_UNITS: Final = {1.0: "mm", 0.0254: "mil", 25.4: "inch", 10.0: "cm", 0.001: "µm"}


def _unit(value: object) -> object:
    """Return a unit by its one name, however board.toml spells it."""
    if not isinstance(value, str):
        return value
    spelt = value.strip().lower().replace('"', "inch")
    try:
        return _UNITS.get(round(read_quantity(f"1 {spelt}", LENGTH), 9), value)
    except UnitError:
        return value


def unit_spellings() -> list[str]:
    """Return the spellings of units that a schema names; others of the same units are read as well."""
    return [*_UNITS.values(), "in", "mils", "thou", "um", "millimeter"]


def _as_table(value: object) -> object:
    return {"file": value} if isinstance(value, str) else value


def _as_tables(value: object) -> object:
    items = value if isinstance(value, list) else [value]
    return [_as_table(item) for item in items]


def _as_texts(value: object) -> object:
    if not isinstance(value, dict):
        return value
    return {k: str(v) if isinstance(v, int) and not isinstance(v, bool) else v for k, v in value.items()}


Unit = Annotated[LengthUnit, BeforeValidator(_unit)]
HeaderNames = Annotated[dict[str, str], BeforeValidator(_as_texts)]


class Section(BaseModel):
    """A table of board.toml: an unknown key is an error."""

    model_config = ConfigDict(extra="forbid", frozen=True, defer_build=True, populate_by_name=True)


class Shift(Section):
    """What is added to every placement's x and y, so that they lie in the outline's frame."""

    x: SignedLength = Field(0.0, description="length added to x of every placement")
    y: SignedLength = Field(0.0, description="length added to y of every placement")


class PlacementSource(Section):
    """A placement file, with what it does not say itself."""

    file: str = Field(description="path of the file, from the folder of board.toml")
    sheet: str | None = Field(None, description="the sheet of a workbook that holds the placements")
    side: SideWord | None = Field(None, description="the side of all its rows, where no column says so")
    units: Unit | None = Field(None, description="the unit of x and y in this file")
    decimal: Literal[".", ","] | None = Field(None, description="the decimal mark in this file")
    origin: Shift | None = Field(None, description="shift from this file's origin to the outline's, where files differ")


class OutlineSource(Section):
    """The file of the board's contour."""

    file: str = Field(description="path of the DXF or Gerber file, from the folder of board.toml")
    layer: str | None = Field(None, description="the layer that holds the contour, where a file has several")
    unit: Unit | None = Field(None, description="the unit of the drawing, where it does not state one")
    tolerance: Length | None = Field(None, description="the widest gap in the contour that is closed")


class ColumnNames(Section):
    """Which header, or column number from 1 where there is no header, plays which role."""

    placements: HeaderNames = Field({}, description="role = header text, for the placements")
    bom: HeaderNames = Field({}, description="role = header text, for the bill of materials")


class Rails(Section):
    """The break-off strips around a panel's circuits, by edge."""

    left: Length = Field(0.0, description="width of the rail on the left")
    right: Length = Field(0.0, description="width of the rail on the right")
    bottom: Length = Field(0.0, description="width of the rail at the lower edge")
    top: Length = Field(0.0, description="width of the rail at the upper edge")


class Tab(Section):
    """The middle of a break-off tab, in the circuit at the lower left."""

    x: SignedLength = Field(description="x of its middle, in the outline's frame")
    y: SignedLength = Field(description="y of its middle, in the outline's frame")


class PanelSource(Section):
    """How one circuit is stepped to a panel: the files describe the circuit at the lower left."""

    columns: int = Field(1, ge=1, le=100, description="circuits along x")
    rows: int = Field(1, ge=1, le=100, description="circuits along y")
    pitch_x: PositiveLength | None = Field(None, description="distance of neighbouring circuits along x")
    pitch_y: PositiveLength | None = Field(None, description="distance of neighbouring circuits along y")
    half_turns: Literal["none", "columns", "rows", "alternate"] = Field(
        "none", description="which circuits are turned by 180 degrees: every second column, row, or both alternately"
    )
    rails: Rails = Field(Rails.model_construct(), description="break-off strips around the circuits")
    parting: Literal["score", "tabs", "routed"] | None = Field(None, description="how the circuits are parted")
    tabs: list[Tab] = Field([], description="break-off tabs of one circuit, where they are known")


class PanelAssumptions(Section):
    """The panel that would be ordered, where the board comes as a single one that the line does not take."""

    order: bool = Field(True, description="whether a board that the line does not take singly is judged in a panel")
    gap: Length | None = Field(None, description="free width between circuits of a proposed panel")
    rail: Length | None = Field(None, description="width of its rails, at both conveyor edges")
    max_length: PositiveLength | None = Field(None, description="its longer side at most; the panel then fills it")
    max_width: PositiveLength | None = Field(None, description="its shorter side at most; the panel then fills it")
    fiducial_diameter: PositiveLength | None = Field(
        None, description="diameter of the fiducials at three corners of its rails; none are assumed where left out"
    )


class Fiducial(Section):
    """A fiducial mark that the placement files do not list."""

    x: SignedLength = Field(description="x of its centre, in the outline's frame")
    y: SignedLength = Field(description="y of its centre, in the outline's frame")
    diameter: PositiveLength | None = Field(None, description="diameter of the copper mark")
    side: SideWord = Field("top", description="the side that shows it")
    kind: Literal["panel", "board", "local"] = Field("board", description="what it aligns")
    shape: Literal["circle", "square", "diamond", "triangle", "cross"] | None = Field(
        None, description="shape of the copper mark; a circle where only a diameter is stated"
    )


class Manifest(Section):
    """The whole of board.toml."""

    name: str = Field("", max_length=200, description="what reports call the board")
    placements: Annotated[list[PlacementSource], BeforeValidator(_as_tables)] = Field(
        [], max_length=50, description="placement file, or a list of them: one a side"
    )
    bom: str | None = Field(None, description="bill of materials")
    bom_sheet: str | None = Field(
        None, description="the sheet of the bill of materials that counts, where two list the same parts"
    )
    outline: Annotated[OutlineSource | None, BeforeValidator(_as_table)] = Field(
        None, description="DXF or Gerber file of the contour, or a table with file, layer, unit and tolerance"
    )
    fabrication: bool | Annotated[list[str], Field(max_length=50)] = Field(
        True, description="netlists, layers, IDF and IPC-2581 that state pins, lands, heights; false to use none"
    )
    layers: bool | Annotated[dict[str, LayerName], Field(max_length=50)] = Field(
        True, description="Gerber file = what it shows, where its content leaves that open; false to use no layers"
    )
    units: Unit | None = Field(None, description="unit of x and y in the placement files")
    decimal: Literal[".", ","] | None = Field(None, description="decimal mark in the files")
    origin: Shift | None = Field(None, description="shift from the placements' origin to the outline's")
    y_axis: Literal["up", "down"] | None = Field(None, description="where y of the placements points")
    bottom_view: Literal["through the board", "from below"] | None = Field(
        None, description="how x of bottom placements was written: as seen from the top, or mirrored"
    )
    size_codes: Literal["inch", "metric"] | None = Field(
        None, description="the system of chip size codes that both systems have, such as 0402"
    )
    prefer: Literal["footprint", "bom", "library", "store"] | None = Field(
        None, description="whose body is believed where two sources name different ones; until then either counts"
    )
    columns: ColumnNames = Field(ColumnNames.model_construct(), description="columns, where they are not recognised")
    side: SideWord | None = Field(None, description="the side of all placements, where no column says so")
    variant: str | None = Field(None, description="the BOM column that says what this order fits")
    not_fitted: list[str] = Field(
        [], max_length=_MOST_ENTRIES, description="references that stay empty; ranges are allowed"
    )
    fitted: list[str] = Field(
        [],
        max_length=_MOST_ENTRIES,
        description="references that are fitted, whatever the files say; ranges are allowed",
    )
    provided: list[str] = Field(
        [], max_length=_MOST_ENTRIES, description="references of parts that the customer provides; ranges are allowed"
    )
    bought: list[str] = Field(
        [],
        max_length=_MOST_ENTRIES,
        description="references of parts that the shop buys, though the files read as if the customer provided them",
    )
    part_numbers: dict[str, Annotated[str, Field(min_length=1, max_length=80)]] = Field(
        {}, max_length=_MOST_ENTRIES, description="reference, or pattern with *, = the part number that is fitted"
    )
    kinds: dict[str, Literal["part", "fiducial", "mechanical"]] = Field(
        {}, max_length=_MOST_ENTRIES, description="reference, or pattern with *, = what the row stands for"
    )
    mounting: dict[str, Literal["surface", "through hole", "none"]] = Field(
        {}, max_length=_MOST_ENTRIES, description="reference, or pattern with *, = how the part is mounted"
    )
    length: PositiveLength | None = Field(None, description="board length along x, where there is no outline")
    width: PositiveLength | None = Field(None, description="board width along y, where there is no outline")
    thickness: PositiveLength | None = Field(None, description="board thickness")
    mass: Mass | None = Field(None, description="mass of the populated board")
    per_year: float | None = Field(
        None, ge=0, allow_inf_nan=False, description="how many of the board are made a year, for surveys of many boards"
    )
    density: Density | None = Field(None, description="density of the bare board")
    bow_percent: float | None = Field(
        None,
        ge=0,
        le=100,
        allow_inf_nan=False,
        description="greatest bow in percent of a side, as agreed with the board's maker",
    )
    twist_percent: float | None = Field(
        None,
        ge=0,
        le=100,
        allow_inf_nan=False,
        description="greatest twist in percent of the diagonal, as agreed with the board's maker",
    )
    product_class: Literal[1, 2, 3] | None = Field(None, description="class of the product by IPC-A-610")
    travel: Literal["along x", "along y"] | None = Field(
        None, description="which way the board travels: along x it is carried on its lower and upper edge"
    )
    panel: PanelSource | None = Field(None, description="how one circuit is stepped to a panel")
    panel_proposal: PanelAssumptions = Field(
        PanelAssumptions.model_construct(), description="gap, rails and greatest size of a panel that is proposed"
    )
    fiducials: list[Fiducial] = Field([], description="marks that the placement files do not list")

    @model_validator(mode="after")
    def _fitted_or_not(self) -> Self:
        """Refuse a reference that is fitted and not."""
        if both := sorted({*self.fitted} & {*self.not_fitted}):
            raise ValueError(f"{both[0]} stands in fitted and in not_fitted; keep one of them")
        return self


def load_manifest(path: Path) -> Manifest:
    """Return the model of a board.toml; every wrong key and value is reported at once.

    Raises :class:`InputError` that names the file and the key, the nearest known key and the dimension expected.
    """
    data, text = load_toml(path, "board.toml")
    return validate(Manifest, data, str(path), text)
