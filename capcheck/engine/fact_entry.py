"""A fact that a rule file makes of others, as written."""

# Annotations are not kept as text here: pydantic would compile each of them anew at every start.
from pydantic import BaseModel, ConfigDict, Field


class FactEntry(BaseModel):
    """One ``[[fact]]`` of a rule file: a fact that an expression makes of others."""

    model_config = ConfigDict(extra="forbid", frozen=True, defer_build=True)

    name: str = Field(
        pattern=r"^[a-z]+\.[a-z][a-z0-9_]*$",
        description="scope and name, like part.area; the scope is what it is about",
    )
    expression: str = Field(min_length=1, description="what it is worked out by")
    help: str = Field(min_length=4, description="what it says, in a few words without a stop")
