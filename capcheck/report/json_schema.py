"""The JSON report as types, schema ``capcheck-report/1``: for those who fill it, and for programs that read it."""

from __future__ import annotations

from typing import Annotated, Any, Final, Literal

import msgspec
from msgspec import UNSET, Meta, Struct, UnsetType

from capcheck.checking import Count, Totals
from capcheck.model import InputFile
from capcheck.shop import DRAFT, schema_name

Outcome = Literal["pass", "warn", "fail", "unanswered"]
Row = Annotated[int, Meta(ge=1)] | None
Ends = Annotated[tuple[float | None, float | None], Meta(description="least and greatest value; null is without bound")]


class Closed(Struct, frozen=True, forbid_unknown_fields=True):
    """What is counted and compared: no later version adds a key, as it may to the other objects."""


class BoardJson(Struct, frozen=True):
    """The board's size."""

    name: str
    length_mm: Ends
    width_mm: Ends
    thickness_mm: Ends
    mass_g: Ends
    placements: Annotated[int, Meta(ge=0)]


class DecisionJson(Struct, frozen=True):
    """What was inferred, with its evidence."""

    topic: str
    choice: str
    evidence: str
    runner_up: str
    settle: str
    open: bool
    file: str | None


class SetAsideJson(Struct, frozen=True):
    """A row of a file that is neither a placement nor a BOM line."""

    file: str
    row: int
    reason: str
    text: str


class DiscrepancyJson(Struct, frozen=True):
    """One thing in the customer's files that does not agree, with every reference that it is about."""

    topic: str
    severity: str
    message: str
    refs: list[str]
    file: str | None
    row: Row


class BomLineJson(Struct, frozen=True):
    """A line of the bill of materials as it was read."""

    refs: list[str]
    part_number: str
    value: str
    quantity: float | None
    fitted: bool
    file: str
    row: Row


class NoteJson(Struct, frozen=True):
    """What a reader should know about the input."""

    message: str
    file: str | None
    row: Row


class LineJson(Struct, frozen=True):
    """The line that was checked against."""

    name: str
    machines: list[str]


class BodySize(Closed, frozen=True):
    """The three sizes of a body."""

    length: Ends
    width: Ends
    height: Ends


class PartJson(Struct, frozen=True):
    """A row of the placement data, with what came out for it."""

    ref: str
    kind: str
    side: Literal["top", "bottom"] | None
    x_mm: float | None
    y_mm: float | None
    rotation_deg: float | None
    fitted: bool
    part_number: str
    value: str
    footprint: str
    lead_style: str | None
    family: str | None
    mounting: str | None
    pins: int | None
    pitch_mm: Annotated[Ends, Meta(description="distance between neighbouring leads")]
    body_mm: BodySize
    body_basis: dict[str, str]
    body_from: str
    file: str
    row: int
    outcome: Outcome
    taken_by: Annotated[list[str], Meta(description="heads that are proved to take the part, as machine/head")]


class SubjectJson(Closed, frozen=True):
    """What a finding is about."""

    kind: str
    ref: str | UnsetType = UNSET
    side: str | UnsetType = UNSET
    machine: str | UnsetType = UNSET
    head: str | UnsetType = UNSET


class FactJson(Closed, frozen=True, kw_only=True, rename={"source": "from"}):
    """A fact with its source: a text, or a number within bounds."""

    value: str | UnsetType | None = UNSET
    low: float | UnsetType | None = UNSET
    high: float | UnsetType | None = UNSET
    unit: str | UnsetType = UNSET
    source: str
    note: str | UnsetType = UNSET
    """What a count or sum is made of, and what leaves it open."""


_TEXT_OR_NUMBER: Final = Meta(
    extra_json_schema={
        "oneOf": [
            {"required": ["value"], "maxProperties": 3},
            {"required": ["low", "high", "unit"], "maxProperties": 5},
        ]
    }
)


class MarginJson(Closed, frozen=True):
    """The distance to a limit; negative where the limit is passed."""

    value: float
    unit: str


class WaitingJson(Closed, frozen=True):
    """The undecided finding that another one waits for."""

    rule: str
    subject: SubjectJson


class FindingJson(Struct, frozen=True, kw_only=True):
    """One answer that is not a pass."""

    rule: str
    title: str
    outcome: Literal["warn", "fail"]
    undecided: bool
    waived: bool
    waiver: Annotated[str, Meta(description="reason, name and end of the waiver")] | UnsetType = UNSET
    baseline: Literal["new", "worse", "unchanged"] | UnsetType = UNSET
    subject: SubjectJson
    waits_for: (
        Annotated[WaitingJson, Meta(description="the undecided finding that asks for what this one lacks")] | UnsetType
    ) = UNSET
    group: Annotated[str, Meta(description="what findings are gathered by, such as the type of part")]
    part_type: (
        Annotated[str, Meta(description="part number, or value and footprint; not there for no part")] | UnsetType
    ) = UNSET
    facts: dict[str, Annotated[FactJson, _TEXT_OR_NUMBER]]
    missing: Annotated[list[str], Meta(description="facts that would decide the rule")]
    margin: MarginJson | None
    message: str
    statement: Annotated[str, Meta(description="the message without the reference that it begins with")]
    remedy: str
    file: str | None
    row: Row


class KnownJson(Struct, frozen=True):
    """A finding of an earlier report."""

    rule: str
    outcome: str
    subject: str
    message: str
    file: str | None
    row: int | None


class PanelJson(Struct, frozen=True):
    """The panel in which a board is judged that the line does not take as sent: circuits along x and y, sizes in mm."""

    columns: int
    rows: int
    length_mm: float
    width_mm: float
    rail_mm: float
    gap_mm: float


class RuleJson(Struct, frozen=True, rename={"passed": "pass"}):
    """A rule that was asked: how many subjects it passed, broke, left undecided and did not apply to."""

    rule: str
    title: str
    subject: str
    level: Literal["warn", "fail"]
    passed: Count
    broken: Count
    undecided: Count
    not_applicable: Count
    never_applied: Annotated[str | None, Meta(description="why it was applied to nothing; null where it was applied")]


class ReportJson(Struct, frozen=True):
    """What ``capcheck check --format json`` prints."""

    schema: Literal["capcheck-report/1"]
    verdict: Outcome
    inputs: list[Annotated[InputFile, Meta(extra_json_schema={"unevaluatedProperties": False})]]
    board: BoardJson
    decisions: list[DecisionJson]
    set_aside: list[SetAsideJson]
    discrepancies: list[DiscrepancyJson]
    bom: list[BomLineJson] | None
    line: LineJson | None
    counts: Annotated[Totals, Meta(description="warn includes undecided; waiting, waived and known count only as such")]
    notes: list[NoteJson]
    parts: list[PartJson]
    findings: list[FindingJson]
    waiting: Annotated[list[FindingJson], Meta(description="undecided answers that wait for one of the findings")]
    rules: Annotated[list[RuleJson], Meta(description="the rules that were asked, in the order of their files")]
    cautions: Annotated[str, Meta(description="what decides, and how work on machines is done safely")]
    panel: Annotated[PanelJson, Meta(description="where the board is judged in a panel")] | UnsetType = UNSET
    unanswered: Annotated[list[str], Meta(description="why the run is no answer")] | UnsetType = UNSET
    gone: Annotated[list[KnownJson], Meta(description="findings of the baseline that are over")] | UnsetType = UNSET


def report_schema() -> dict[str, Any]:
    """Return the JSON Schema (draft 2020-12) of what ``capcheck check --format json`` prints."""
    schema = msgspec.json.schema(ReportJson)
    return {"$schema": DRAFT, "$id": schema_name("report"), "title": "capcheck report", **schema}
