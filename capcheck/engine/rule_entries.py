"""A rule file as written: its keys, and their JSON Schema for editors."""

# Annotations are not kept as text here: pydantic would compile each of them anew at every start.
from typing import Any, Final, Literal

from pydantic import BaseModel, ConfigDict, Field, StrictFloat, StrictInt, field_validator

from capcheck.engine.aggregates import SCOPES
from capcheck.engine.subjects import SUBJECTS
from capcheck.facts import Fact
from capcheck.values import schema_of_any_quantity, schema_of_quantity

Level = Literal["fail", "warn"]

_STRICT: Final = ConfigDict(extra="forbid", frozen=True, defer_build=True)


Stated = str | bool | int | float | list[str]


class ExampleEntry(BaseModel):
    """One example in a rule file: facts by name, and the outcome that the rule must give."""

    model_config = _STRICT

    facts: dict[str, Stated] = Field(
        {}, description="facts by name; texts with units for quantities, two quantities in a list for an interval"
    )
    outcome: Literal["pass", "fail", "warn", "undecided", "not applicable"] = Field(description="what must come out")

    @field_validator("facts", mode="before")
    @classmethod
    def _name_is_one_key(cls, facts: object) -> object:
        for scope, own in facts.items() if isinstance(facts, dict) else ():
            if isinstance(own, dict) and own:
                name = f"{scope}.{next(iter(own))}"
                raise ValueError(
                    f'{name} is read as a table "{scope}" in a table; put the name in quotes: "{name}" = …'
                )
        return facts

    members: dict[str, list[dict[str, Stated]]] = Field(
        {},
        description="what is counted, by scope: every part, pair … with its facts; times = 12 for as many alike",
    )


class RuleEntry(BaseModel):
    """One ``[[rule]]`` of a rule file, as written."""

    model_config = _STRICT

    id: str = Field(pattern=r"^[a-z0-9]+(-[a-z0-9]+)*$", description="readable name in lower case with hyphens")
    title: str = Field(min_length=1, description="what holds where the rule passes")
    finding: str = Field("", description="the headline where it does not hold; the title if left out")
    subject: str = Field(description="what the rule is about")
    when: str = Field("", description="where the rule applies; everywhere if left out")
    require: str = Field(min_length=1, description="what must hold")
    outcome: Level = Field("fail", description="what a proved violation is")
    message: str = Field(min_length=1, description="the finding, with facts in braces")
    why: str = Field(min_length=1, description="what goes wrong on the floor")
    remedy: str = Field(min_length=1, description="what the designer or the engineer can do")
    ask: str = Field(
        "",
        description="what a customer is asked where it does not hold, in words for customers; else nobody is",
    )
    basis: str = Field(min_length=1, description="where the limit comes from; [4] cites guideline 4 of those that ship")
    tags: tuple[str, ...] = Field((), description="words by which rules are chosen together")
    needs: tuple[Literal["bom", "line", "outline"], ...] = Field(
        (), description="what must be given for the rule to be asked, beside what its facts need"
    )
    settles: tuple[str, ...] = Field(
        (), description="facts that it asks for in the name of all: what lacks one of them waits for its answer"
    )
    for_others: bool = Field(
        False,
        description="whether it only asks: with no other answer that waits for it, an undecided one is no finding",
    )
    once_for_type: bool = Field(False, description="whether it is asked once for all parts of a type")
    limits: dict[str, str | StrictInt | StrictFloat] = Field(
        {}, description="named quantities that a configuration may change"
    )
    values: dict[str, str] = Field(
        {}, description="names for parts of the rule, each an expression; the message may show them"
    )
    example: tuple[ExampleEntry, ...] = Field((), description="examples that run as tests")


def entry_schema() -> dict[str, Any]:
    """Return the JSON Schema of a rule file, for editors."""
    from capcheck.facts import FACTS

    entry = RuleEntry.model_json_schema(ref_template="#/$defs/{model}")
    shared = entry.pop("$defs")
    entry["properties"]["subject"]["enum"] = list(SUBJECTS)
    quantity = schema_of_any_quantity()
    entry["properties"]["limits"]["additionalProperties"] = quantity
    # A shop may have facts of its own, so other names are not wrong.
    stated = {fact.name: _fact_schema(fact) for fact in FACTS}
    example = shared["ExampleEntry"]["properties"]
    example["facts"]["properties"] = stated
    member = example["members"]["additionalProperties"]["items"]
    member["properties"] = {**stated, "times": {"type": "integer", "minimum": 1, "description": "so many alike"}}
    example["members"]["propertyNames"] = {"enum": list(SCOPES)}
    return {
        "title": "capcheck rule file",
        "type": "object",
        "additionalProperties": False,
        "properties": {
            "rule": {"type": "array", "items": entry},
            "constants": _named("quantities that the rules of the file share", quantity),
            "sets": _named(
                "texts or numbers that the rules of the file share",
                {"type": "array", "items": {"type": ["string", "number"]}, "minItems": 1},
            ),
            "tables": _named("limits by the texts of facts", _table_schema()),
            "fact": {"type": "array", "items": _derived_schema()},
        },
        "$defs": shared,
    }


def _named(text: str, of: dict[str, Any]) -> dict[str, Any]:
    """Return the schema of a table of names that expressions can use."""
    names = {"pattern": "^[a-z][a-z0-9_]{0,39}$"}
    return {"type": "object", "description": text, "propertyNames": names, "additionalProperties": of}


def _table_schema() -> dict[str, Any]:
    row = {"type": "object", "additionalProperties": {"type": ["string", "number"]}}
    rows = {
        "type": "array",
        "items": row,
        "minItems": 1,
        "description": "rows: a key with the name of a fact is looked up, the others are limits",
    }
    of_file = {
        "type": "object",
        "properties": {"file": {"type": "string", "description": "a CSV beside the rule file"}},
        "required": ["file"],
        "additionalProperties": False,
    }
    of_rows = {"type": "object", "properties": {"rows": rows}, "required": ["rows"], "additionalProperties": False}
    return {"anyOf": [of_file, of_rows, rows]}


def _derived_schema() -> dict[str, Any]:
    from capcheck.engine.fact_entry import FactEntry

    return FactEntry.model_json_schema()


def _fact_schema(fact: Fact) -> dict[str, Any]:
    """Return the JSON Schema of what an example may state of *fact*."""
    text: dict[str, Any] = {"enum": list(fact.choices)} if fact.choices else {"type": "string"}
    text |= {} if fact.names is None else {"examples": list(fact.names.every())}
    kinds: dict[str, dict[str, Any]] = {
        "flag": {"type": "boolean"},
        "text": text,
        "set": {"type": "array", "items": text},
    }
    if fact.kind != "number":
        return {**kinds[fact.kind], "description": fact.help}
    one = schema_of_quantity(fact.dimension, minimum=None)
    ends = {"type": "array", "items": {"type": "string"}, "minItems": 2, "maxItems": 2}
    return {"anyOf": [*one.get("anyOf", [one]), ends], "description": fact.help}
