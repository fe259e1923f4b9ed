"""JSON Schemas of the files that people write, for editors: made from the models that read them."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, Any, Final

if TYPE_CHECKING:
    from pydantic import BaseModel

Schema = dict[str, Any]

DRAFT: Final = "https://json-schema.org/draft/2020-12/schema"
FOLDER: Final = ".capcheck"
"""Where ``capcheck init`` writes them, beside the files that name them."""


def schema_name(what: str) -> str:
    """Return the identifier of a schema; the files are not on a network, so it is a name and no address."""
    return f"urn:capcheck:schema:{what}"


def schema_of_file(what: str) -> Schema:
    """Return the JSON Schema (draft 2020-12) of one of the files named in :data:`FILES`."""
    return {"$schema": DRAFT, "$id": schema_name(what), **_MAKERS[what]()}


def schema_files() -> dict[str, str]:
    """Return the text of every schema file, by its path from the files that name it."""
    import json

    return {
        f"{FOLDER}/{what}.schema.json": f"{json.dumps(schema_of_file(what), ensure_ascii=False, indent=1)}\n"
        for what in FILES
    }


def _of_model(model: type[BaseModel]) -> Schema:
    found: Schema = _without_null(model.model_json_schema())
    return found


def _without_null(schema: Any) -> Any:  # noqa: ANN401  a JSON value
    """Return a schema without null, which TOML cannot say, and without the defaults that hold it."""
    if isinstance(schema, list):
        return [_without_null(item) for item in schema]
    if not isinstance(schema, dict):
        return schema
    kept = {key: _without_null(value) for key, value in schema.items() if key != "default" or _is_plain(value)}
    options = kept.get("anyOf")
    if isinstance(options, list) and {"type": "null"} in options:
        others = [option for option in options if option != {"type": "null"}]
        rest = {key: value for key, value in kept.items() if key != "anyOf"}
        kept = {**others[0], **rest} if len(others) == 1 and "$ref" not in others[0] else {**rest, "anyOf": others}
    return kept


def _is_plain(value: object) -> bool:
    return isinstance(value, str | bool | int | float)


def _machine() -> Schema:
    from capcheck.machines import MachineProfile, chip_codes

    found = _of_model(MachineProfile)
    for of_heads in ("Head", "HeadOption"):
        found["$defs"][of_heads]["properties"]["smallest_chip"]["enum"] = chip_codes()
    return found


def _line() -> Schema:
    from capcheck.machines import LineFile

    return _of_model(LineFile)


def _board() -> Schema:
    from capcheck.model import Manifest, unit_spellings

    path = {"type": "string", "description": "path from the folder of board.toml"}
    found = _of_model(Manifest)
    fields = found["properties"]
    one = {"anyOf": [path, fields["placements"].pop("items")]}
    several = {"type": fields["placements"].pop("type"), "items": one, "maxItems": fields["placements"].pop("maxItems")}
    fields["placements"]["anyOf"] = [*one["anyOf"], several]
    fields["outline"]["anyOf"] = [path, *fields["outline"]["anyOf"]]
    for columns in found["$defs"]["ColumnNames"]["properties"].values():
        columns["additionalProperties"] = {"type": ["string", "integer"]}
    fields["units"]["enum"] = unit_spellings()
    found["$defs"]["PlacementSource"]["properties"]["units"]["enum"] = unit_spellings()
    found["$defs"]["OutlineSource"]["properties"]["unit"]["enum"] = unit_spellings()
    return found


def _configuration() -> Schema:
    from capcheck.shop.configuration_file import ConfigurationFile
    from capcheck.values import schema_of_any_quantity

    found = _of_model(ConfigurationFile)
    limit = schema_of_any_quantity()
    table = {"type": "object", "additionalProperties": limit}
    for layer in (found, *found["$defs"].values()):
        if (limits := layer.get("properties", {}).get("limits")) is not None:
            limits["additionalProperties"] = {"anyOf": [*limit["anyOf"], table]}
    return found


def _rules() -> Schema:
    from capcheck.engine import entry_schema

    found: Schema = _without_null(entry_schema())
    return found


_MAKERS: Final[Mapping[str, Callable[[], Schema]]] = {
    "machine": _machine,
    "line": _line,
    "board": _board,
    "configuration": _configuration,
    "rules": _rules,
}
FILES: Final = tuple(_MAKERS)
