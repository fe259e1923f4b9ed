from .orders import (
    NURSERY as NURSERY,
    PHASE as PHASE,
    RESULT as RESULT,
    OnLine as OnLine,
    Order as Order,
    Phase as Phase,
    Result as Result,
    Shop as Shop,
    Summary as Summary,
    Told as Told,
    read_form as read_form,
    told_of as told_of,
)
