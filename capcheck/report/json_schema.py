"""The JSON Schema of the JSON report, for programs that read it."""

from __future__ import annotations

from typing import Any, Final

from capcheck.shop import SCHEMA

_OUTCOMES: Final = ["pass", "warn", "fail"]
_TEXT: Final = {"type": "string"}
_TEXT_OR_NULL: Final = {"type": ["string", "null"]}
_ROW: Final = {"type": ["integer", "null"], "minimum": 1}
_FLAG: Final = {"type": "boolean"}
_NUMBER_OR_NULL: Final = {"type": ["number", "null"]}
_COUNT: Final = {"type": "integer", "minimum": 0}
_TEXTS: Final = {"type": "array", "items": _TEXT}


def _interval(what: str) -> dict[str, Any]:
    return {
        "description": f"{what}: least and greatest value; null is without bound",
        "type": "array",
        "items": _NUMBER_OR_NULL,
        "minItems": 2,
        "maxItems": 2,
    }


def _object(required: dict[str, Any], optional: dict[str, Any] | None = None, *, open_: bool = False) -> dict[str, Any]:
    return {
        "type": "object",
        "properties": {**required, **(optional or {})},
        "required": list(required),
        # Keys may be added in later versions, but not within what is counted and compared.
        "additionalProperties": open_,
    }


def _findings() -> dict[str, Any]:
    subject = _object({"kind": _TEXT}, {"ref": _TEXT, "side": _TEXT, "machine": _TEXT, "head": _TEXT})
    number = _object({"low": _NUMBER_OR_NULL, "high": _NUMBER_OR_NULL, "unit": _TEXT, "from": _TEXT})
    text = _object({"value": _TEXT_OR_NULL, "from": _TEXT})
    margin = _object({"value": {"type": "number"}, "unit": _TEXT})
    return _object(
        {
            "rule": _TEXT,
            "title": _TEXT,
            "outcome": {"enum": ["warn", "fail"]},
            "undecided": _FLAG,
            "waived": _FLAG,
            "subject": subject,
            "group": {"type": "string", "description": "what findings are gathered by, such as the type of part"},
            "facts": {"type": "object", "additionalProperties": {"anyOf": [number, text]}},
            "missing": {**_TEXTS, "description": "facts that would decide the rule"},
            "margin": {"anyOf": [margin, {"type": "null"}], "description": "negative where the limit is passed"},
            "message": _TEXT,
            "remedy": _TEXT,
            "file": _TEXT_OR_NULL,
            "row": _ROW,
        },
        {
            "waiver": {"type": "string", "description": "reason, name and end of the waiver"},
            "baseline": {"enum": ["new", "worse", "unchanged"]},
        },
        open_=True,
    )


def _part() -> dict[str, Any]:
    return _object(
        {
            "ref": _TEXT,
            "kind": _TEXT,
            "side": {"enum": ["top", "bottom", None]},
            "x_mm": _NUMBER_OR_NULL,
            "y_mm": _NUMBER_OR_NULL,
            "rotation_deg": _NUMBER_OR_NULL,
            "fitted": _FLAG,
            "part_number": _TEXT,
            "value": _TEXT,
            "footprint": _TEXT,
            "lead_style": _TEXT_OR_NULL,
            "pins": {"type": ["integer", "null"]},
            "pitch_mm": _interval("distance between neighbouring leads"),
            "body_mm": _object({name: _interval(name) for name in ("length", "width", "height")}),
            "body_from": _TEXT,
            "outcome": {"enum": _OUTCOMES},
            "taken_by": {**_TEXTS, "description": "heads that are proved to take the part, as machine/head"},
        },
        open_=True,
    )


def report_schema() -> dict[str, Any]:
    """Return the JSON Schema (draft 2020-12) of what ``capcheck check --format json`` prints."""
    board = {
        "name": _TEXT,
        "length_mm": _interval("length"),
        "width_mm": _interval("width"),
        "thickness_mm": _interval("thickness"),
        "placements": _COUNT,
    }
    counts = dict.fromkeys(("pass", "warn", "fail", "undecided", "waived", "known"), _COUNT)
    note = _object({"message": _TEXT, "file": _TEXT_OR_NULL, "row": _ROW}, open_=True)
    described = _object(
        {
            "schema": {"const": SCHEMA},
            "verdict": {"enum": _OUTCOMES},
            "inputs": {"type": "array", "items": _object({"path": _TEXT, "role": _TEXT, "sha256": _TEXT})},
            "board": _object(board, open_=True),
            "line": {"anyOf": [_object({"name": _TEXT, "machines": _TEXTS}, open_=True), {"type": "null"}]},
            "counts": {
                **_object(counts),
                "description": "warn includes undecided; waived and known count only as such",
            },
            "notes": {"type": "array", "items": note},
            "parts": {"type": "array", "items": _part()},
            "findings": {"type": "array", "items": _findings()},
        },
        {"gone": {"type": "array", "description": "findings of the baseline that this board has no more"}},
        open_=True,
    )
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", "title": "capcheck report", **described}
