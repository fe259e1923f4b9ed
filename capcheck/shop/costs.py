"""What hours and batches cost the shop, ``[costs]``: a plan works the cost of a board out of it.

Each figure is a number, or two ends where it is known within bounds alone. What is left out is not counted, and a plan
says so.
"""

# Annotations are not kept as text here: pydantic would compile each of them anew at every start.
from typing import Annotated, Final

from pydantic import AfterValidator, BaseModel, ConfigDict, Field

from capcheck.values import Interval

_STRICT: Final = ConfigDict(extra="forbid", frozen=True, defer_build=True, allow_inf_nan=False)


def _in_order(value: float | tuple[float, float]) -> float | tuple[float, float]:
    if isinstance(value, tuple) and value[0] > value[1]:
        raise ValueError(f"{value[0]:g} is above {value[1]:g}; the lower end stands first")
    return value


_NotNegative = Annotated[float, Field(strict=True, ge=0, le=1e9)]
_One = Annotated[float, Field(strict=True, ge=1, le=1e9)]
_UpToOne = Annotated[float, Field(strict=True, gt=0, le=1)]
_UpToADay = Annotated[float, Field(strict=True, gt=0, le=24)]

Amount = Annotated[_NotNegative | tuple[_NotNegative, _NotNegative], AfterValidator(_in_order)]
"""A number that is not negative, or its two ends."""
_Batch = Annotated[_One | tuple[_One, _One], AfterValidator(_in_order)]
_Share = Annotated[_UpToOne | tuple[_UpToOne, _UpToOne], AfterValidator(_in_order)]
_Hours = Annotated[_UpToADay | tuple[_UpToADay, _UpToADay], AfterValidator(_in_order)]


class Costs(BaseModel):
    """What the shop's hours and batches cost, in ``[costs]``; an hour of the line counts with its stops."""

    model_config = _STRICT

    currency: str = Field("", max_length=12, description="what the rates are in, as reports print it")
    machine_hour: Amount | None = Field(
        None, description="an hour of one placement machine that has no rate of its own"
    )
    machines: dict[str, Amount] = Field({}, description="an hour of a machine or station of the line, by its name")
    operator_hour: Amount | None = Field(None, description="an hour of one operator")
    operators: Amount | None = Field(None, description="operators who run the line")
    batch: _Batch | None = Field(None, description="boards of one batch, from one set-up to the next")
    board_minutes: Amount | None = Field(
        None, description="minutes in which the line stands for a change of board, once for each side"
    )
    feeder_minutes: Amount | None = Field(
        None, description="minutes of one person for one feeder: taken off, filled and put on"
    )
    cart_minutes: Amount | None = Field(
        None, description="minutes in which the line stands for the exchange of one cart with all its feeders"
    )
    set_up_people: int = Field(1, ge=1, le=1000, description="people who set the line up together")
    set_up_hour: Amount | None = Field(
        None, description="an hour of a person who sets up; left out: the same as an operator's"
    )
    feeders_beside: bool = Field(
        default=False,
        description="whether feeders are prepared while the line runs, so that it does not stand for them",
    )
    per_batch: Amount | None = Field(None, description="what each batch costs besides, such as papers and the stencil")
    feeder_hour: Amount | None = Field(None, description="an hour of one feeder that is in use")
    hand_hour: Amount | None = Field(None, description="an hour of a person who places parts by hand")
    hand_seconds: Amount | None = Field(
        None, description="seconds in which one part is placed by hand, where no bench of the line states its own"
    )
    good: _Share | None = Field(None, description="share of the boards that are good; left out: all of them")
    shift_hours: _Hours | None = Field(None, description="hours of a shift without breaks")
    refill_minutes: Amount | None = Field(None, description="minutes of one person for one reel, tray or tube")

    @property
    def states_rates(self) -> bool:
        """Whether anything is stated of which a cost can be worked out."""
        stated = self.model_fields_set & {"machine_hour", "operator_hour", "set_up_hour", "feeder_hour", "hand_hour"}
        return bool(stated or self.machines or self.per_batch is not None)


def within(amount: float | tuple[float, float] | None) -> Interval | None:
    """Return a figure of the costs within its bounds, None where it is not stated."""
    if amount is None:
        return None
    return Interval(*amount) if isinstance(amount, tuple) else Interval.exactly(amount)
