"""What each key of the JSON of plans holds, with its unit: descriptions that its schema has from a table of words."""

from __future__ import annotations

from pathlib import Path
from typing import Any, Final

from capcheck.report.plan.schema_of_set_up import ENDS
from capcheck.values import own_table

_WORDS: Final = Path(__file__).with_name("schema_words.toml")


def described(schema: dict[str, Any]) -> dict[str, Any]:
    """Return a schema whose keys are described as the table says, where their types do not say it themselves."""
    words = own_table(_WORDS)
    for name, one in schema["$defs"].items():
        for key, holds in one.get("properties", {}).items():
            said = words.get(f"{name}.{key}", words.get(key))
            if said is not None and holds.get("description", ENDS) == ENDS:
                holds["description"] = f"{said}; {ENDS}" if "description" in holds else said
    return schema
