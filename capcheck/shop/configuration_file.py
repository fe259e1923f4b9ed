"""The keys of a configuration as people write them: the shop's, and what a customer or a board may have of its own."""

# Annotations are not kept as text here: pydantic would compile each of them anew at every start.
import datetime as dt
from typing import Final, Literal

from pydantic import BaseModel, ConfigDict, Field, field_validator

from capcheck.model import PanelAssumptions
from capcheck.shop.costs import Costs
from capcheck.values import PositiveLength

_STRICT: Final = ConfigDict(extra="forbid", frozen=True, defer_build=True)

Unit = Literal["mm", "mil", "inch"]
Keeper = Literal["library", "store"]
"""Which is believed where the shop's lists and its store differ."""


class WaiverEntry(BaseModel):
    """One ``[[waiver]]``: a deviation that a reviewer accepted. Names may hold the wildcards ``*`` and ``?``."""

    model_config = _STRICT

    rule: str = Field(min_length=1, description="id of the rule, or a pattern")
    board: str = Field("*", description="name of the board, or a pattern")
    part: str = Field("*", description="reference such as L3, or a pattern; everything if left out")
    part_number: str = Field("*", description="part number, or a pattern")
    machine: str = Field("*", description="name of the machine, or a pattern")
    margin: str | None = Field(
        None, description='how far beyond its limit a finding may lie, such as "-2 mm"; any distance if left out'
    )
    reason: str = Field(min_length=1, description="why the deviation is acceptable")
    who: str = Field(min_length=1, description="who accepted it")
    until: dt.date = Field(description="last day on which the waiver holds, like 2027-03-31")


class LossEntry(BaseModel):
    """What the shop loses of parts of one size class, in ``[losses]``; what it leaves out stays as it ships."""

    model_config = _STRICT

    share: float | None = Field(None, ge=0, le=1, description="share of the parts needed, such as 0.02")
    least: int | None = Field(None, ge=0, le=1_000_000, description="parts, however few are needed")


class Assumed(BaseModel):
    """What counts as assumed of a board whose files do not say it, in ``[assumed]``."""

    model_config = _STRICT

    thickness: PositiveLength | None = Field(None, description="board thickness where board.toml states none")


class LayerFile(BaseModel):
    """What the shop, a customer and a board may each set; all may be left out."""

    model_config = _STRICT

    line: str | None = Field(None, description="line file, or one of the names under lines")
    rules: tuple[str, ...] = Field((), description="folders or files with further rules")
    libraries: tuple[str, ...] = Field((), description="package libraries of the shop, CSV or XLSX")
    prefer: Keeper | None = Field(
        None, description="which is believed where the shop's libraries and its store differ; until then both count"
    )
    select: tuple[str, ...] = Field((), description="ids or tags of the rules to answer; all if left out")
    ignore: tuple[str, ...] = Field((), description="ids or tags of the rules to leave out")
    limits: dict[str, dict[str, str | int | float]] = Field(
        {}, description='changed limits: fiducial-count.least = 3, or "0.5 mm" where it has a unit'
    )
    outcomes: dict[str, Literal["fail", "warn"]] = Field({}, description='what a violation is: part-height = "warn"')
    strict: bool = Field(False, description="whether warnings and undecided rules fail too")
    product_class: Literal[1, 2, 3] | None = Field(
        None, description="class of product by IPC-A-610: 1 general, 2 dedicated service, 3 high performance"
    )
    stencil_thickness: PositiveLength | None = Field(
        None, description="thickness of the shop's stencils; 0.1 to 0.13 mm is assumed where left out"
    )
    assumed: Assumed = Field(
        Assumed.model_construct(), description="what counts as assumed of boards that do not say it"
    )
    panel: PanelAssumptions = Field(
        PanelAssumptions.model_construct(),
        description="the panel that is ordered where the line does not take a board as sent",
    )
    losses: dict[str, LossEntry] = Field(
        {}, description="parts lost by size class, where the shop knows its own: see capcheck lists order"
    )
    costs: Costs = Field(
        Costs.model_construct(), description="what hours and batches cost, for the cost of a board: see capcheck plan"
    )
    units: Unit = Field("mm", description='unit in which reports print lengths: "mm", "mil" or "inch"')
    waiver: tuple[WaiverEntry, ...] = Field((), description="deviations that were accepted")

    @field_validator("limits", mode="before")
    @classmethod
    def _quoted_names(cls, value: object) -> object:
        """Read ``"fiducial-count.least" = …``, in quotes, like the same without."""
        if not isinstance(value, dict):
            return value
        tables: dict[str, dict[str, object]] = {}
        for name, given in value.items():
            rule, dot, limit = str(name).partition(".")
            if dot and not isinstance(given, dict):
                tables.setdefault(rule, {})[limit] = given
            elif isinstance(given, dict):
                tables.setdefault(rule, {}).update(given)
            else:
                raise ValueError(f'limits are named rule.limit, "{name}" names no limit')
        return tables


class CustomerLayer(LayerFile):
    """What holds for one customer's boards, in ``[customers.NAME]``: it changes only what it names."""

    boards: tuple[str, ...] = Field((), description="folders or archives whose boards are this customer's")


class BoardLayer(LayerFile):
    """What holds for one board, or for all below a folder, in ``[boards."FOLDER"]``: it changes only what it names."""

    customer: str = Field("", description="whose board it is")
    board_file: str | None = Field(
        None, description="the shop's own board.toml of it, read instead of the folder's: see capcheck answers --into"
    )


class ConfigurationFile(LayerFile):
    """The keys of a configuration. All may be left out."""

    board: str | None = Field(None, description="folder or board.toml to check where no other is named")
    lines: dict[str, str] = Field({}, description="line files by a short name")
    documentation: str = Field(
        "",
        pattern=r"^(https?://\S+)?$",
        description="address below which the pages of capcheck docs are found; reports link each rule to its own",
    )
    facts: tuple[str, ...] = Field((), description="Python files that declare further facts")
    answers: str | None = Field(None, description="what customers have answered, CSV: written by capcheck answers")
    store: str | None = Field(
        None, description="the shop's store of parts and answers: a file, or a server such as postgresql://host/name"
    )
    customer: str = Field("", description="whose boards are checked, for what the store keeps of one customer")
    customers: dict[str, CustomerLayer] = Field({}, description="what else holds for the boards of a customer, by name")
    boards: dict[str, BoardLayer] = Field(
        {}, description="what else holds for a board, by its folder or archive from this file, and for all below it"
    )
