"""Two revisions compared, as data for programs: schema ``capcheck-diff/1``."""

from __future__ import annotations

import math
from typing import Annotated, Any, Literal

import msgspec
from msgspec import Meta, Struct

from capcheck.lexicon import cautions, sentence
from capcheck.report.json_schema import KnownJson
from capcheck.report.report_json import known_json
from capcheck.report.revisions.causes import gap_lines
from capcheck.revisions import Comparison, DataChanges, Feeder, PartChange, Revision, Row

Mm = Annotated[float, Meta(description="millimetres")]


class RevisionJson(Struct, frozen=True):
    """One of the two revisions; *name* is what the command line named it by."""

    name: str
    form: Literal["report", "folder", "archive", "git"]
    board: str | None
    line: str | None


class OriginJson(Struct, frozen=True):
    """How the earlier frame lies in the later: turned counter-clockwise by quarter turns, then shifted."""

    quarter_turns: int
    dx_mm: Mm
    dy_mm: Mm
    told_by: Annotated[
        Literal["outline", "parts"], Meta(description="parts: it is not told whether the origin or all parts moved")
    ]


class BoardChangeJson(Struct, frozen=True):
    """What changed of the board: bounds in mm (of a contour areas in mm²), a count or a text; null is unknown."""

    what: str
    old: tuple[float | None, float | None] | str | int | None
    new: tuple[float | None, float | None] | str | int | None


class RowJson(Struct, frozen=True):
    """A row of one revision; without coordinates the bill of materials alone lists it."""

    ref: str
    kind: str
    side: str
    x_mm: float | None
    y_mm: float | None
    rotation_deg: float | None
    fitted: bool
    part_number: str
    value: str
    footprint: str


class PartChangeJson(Struct, frozen=True):
    """What changed of one part; *old* is null where it was added, *new* where it was removed."""

    changes: Annotated[
        list[str],
        Meta(
            description="of: added, removed, renumbered, side, moved, turned, place, part number, value, footprint,"
            " fitted, kind"
        ),
    ]
    old: RowJson | None
    new: RowJson | None
    dx_mm: Mm
    dy_mm: Mm
    moved_mm: Mm
    turned_deg: Annotated[float, Meta(description="counter-clockwise as seen from its own side, −180 to 180")]
    inferred: Annotated[list[str], Meta(description="inferences on which it stands, see uncertain")]


class FeederJson(Struct, frozen=True):
    """A part number that needs a feeder slot in one revision alone."""

    part: str
    refs: list[str]
    certain: Annotated[bool, Meta(description="false: it is not known whether a placement head places it")]


class UncertainJson(Struct, frozen=True):
    """An inference that is open, or that the revisions do not share; null: stated, or nothing to infer."""

    topic: str
    old: str | None
    new: str | None
    open: bool


class MirroredJson(Struct, frozen=True):
    """A side of which most parts lie mirrored along an axis."""

    side: str
    axis: Literal["x", "y"]
    about_mm: Mm
    parts: Annotated[int, Meta(description="parts that lie so")]
    of: Annotated[int, Meta(description="parts with a place on that side in both")]


class DataJson(Struct, frozen=True):
    """What changed in the data."""

    compared: Annotated[int, Meta(description="rows found in both revisions")]
    origin: OriginJson
    board: list[BoardChangeJson]
    parts: list[PartChangeJson]
    feeders_in: list[FeederJson]
    feeders_out: list[FeederJson]
    uncertain: list[UncertainJson]
    mirrored: list[MirroredJson]


class DifferenceJson(Struct, frozen=True):
    """What ``capcheck diff --format json`` prints."""

    schema: Literal["capcheck-diff/1"]
    old_revision: RevisionJson
    new_revision: RevisionJson
    data: Annotated[DataJson | None, Meta(description="null where a report holds no parts")]
    not_compared: list[str]
    new: list[KnownJson]
    worse: list[KnownJson]
    gone: list[KnownJson]
    unchanged: list[KnownJson]
    cautions: str


def difference_json(comparison: Comparison) -> DifferenceJson:
    """Return the whole comparison."""
    found = comparison.findings
    return DifferenceJson(
        schema="capcheck-diff/1",
        old_revision=_revision(comparison.old),
        new_revision=_revision(comparison.new),
        data=None if comparison.data is None else _data(comparison.data),
        not_compared=gap_lines(comparison),
        new=[known_json(known) for known in found.new],
        worse=[known_json(known) for known in found.worse],
        gone=[known_json(known) for known in found.gone],
        unchanged=[known_json(known) for known in found.unchanged],
        cautions=cautions(),
    )


def difference_schema() -> dict[str, Any]:
    """Return the JSON Schema (draft 2020-12) of what ``capcheck diff --format json`` prints."""
    schema = msgspec.json.schema(DifferenceJson)
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", "title": "capcheck diff", **schema}


def _revision(revision: Revision) -> RevisionJson:
    board = None if revision.board is None else revision.board.name
    return RevisionJson(revision.name, revision.form, board, revision.line)


def _data(data: DataChanges) -> DataJson:
    motion = data.motion
    return DataJson(
        compared=data.compared,
        origin=OriginJson(motion.quarter_turns, motion.dx_mm, motion.dy_mm, motion.told_by),
        board=[BoardChangeJson(change.what, change.old, change.new) for change in data.board],
        parts=[_part(data, change) for change in data.parts],
        feeders_in=[_feeder(feeder) for feeder in data.feeders_in],
        feeders_out=[_feeder(feeder) for feeder in data.feeders_out],
        uncertain=[
            UncertainJson(
                str(doubt.topic),
                None if doubt.old is None else sentence(doubt.old.choice),
                None if doubt.new is None else sentence(doubt.new.choice),
                any(found is not None and found.open for found in (doubt.old, doubt.new)),
            )
            for doubt in data.uncertain
        ],
        mirrored=[MirroredJson(str(m.side), m.axis, m.about_mm, m.parts, m.of) for m in data.mirrored],
    )


def _part(data: DataChanges, change: PartChange) -> PartChangeJson:
    return PartChangeJson(
        changes=sorted(map(str, change.changes)),
        old=_row(change.old),
        new=_row(change.new),
        dx_mm=change.dx_mm,
        dy_mm=change.dy_mm,
        moved_mm=change.moved_mm,
        turned_deg=change.turned_deg,
        inferred=[str(topic) for topic in data.doubts(change)],
    )


def _row(row: Row | None) -> RowJson | None:
    if row is None:
        return None
    return RowJson(
        ref=row.ref,
        kind=str(row.kind),
        side=str(row.side),
        x_mm=_finite(row.x_mm),
        y_mm=_finite(row.y_mm),
        rotation_deg=_finite(row.rotation_deg),
        fitted=row.fitted,
        part_number=row.part_number,
        value=row.value,
        footprint=row.footprint,
    )


def _finite(value: float) -> float | None:
    return value if math.isfinite(value) else None


def _feeder(feeder: Feeder) -> FeederJson:
    return FeederJson(feeder.label, list(feeder.refs), feeder.certain)
