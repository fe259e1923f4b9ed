from .address import is_server as is_server
from .boards import Used as Used, UsedOn as UsedOn
from .interchange import as_csv as as_csv, cell_of as cell_of, statements_of_file as statements_of_file
from .offer import used_parts as used_parts, worth_offering as worth_offering
from .quote_records import (
    STATES as STATES,
    Logged as Logged,
    Quote as Quote,
    QuoteBoard as QuoteBoard,
    QuoteFile as QuoteFile,
    State as State,
    Work as Work,
    WorkOutcome as WorkOutcome,
)
from .quotes import Quotes as Quotes, now_text as now_text
from .records import (
    EVERYONE as EVERYONE,
    FIELDS as FIELDS,
    Answer as Answer,
    BoardKey as BoardKey,
    Change as Change,
    Figure as Figure,
    Given as Given,
    Outcome as Outcome,
    PartKey as PartKey,
    Question as Question,
    Result as Result,
    Revision as Revision,
    Scope as Scope,
    Source as Source,
    Standing as Standing,
    Statement as Statement,
    Value as Value,
)
from .store import Store as Store, open_store as open_store, upgrade_store as upgrade_store
