from .asked_in_store import questions_to_keep as questions_to_keep
from .destinations import (
    Destinations as Destinations,
    Keeper as Keeper,
    LibraryKeeper as LibraryKeeper,
    Planned as Planned,
    Told as Told,
    planned as planned,
)
from .effects import confirming_box as confirming_box, effects as effects
from .entries import EntryChange as EntryChange, with_entries as with_entries, without_entries as without_entries
from .figures import doubts_of as doubts_of, read_figure as read_figure
from .filled_list import FilledList as FilledList, FilledRow as FilledRow, read_filled_list as read_filled_list
from .filled_text import read_filled_text as read_filled_text
from .outcome import Edit as Edit, Settled as Settled, State as State
from .settling import Answering as Answering, asked_now as asked_now, settle_answers as settle_answers
from .store_keeper import StoreKeeper as StoreKeeper
from .told import answers_as_data as answers_as_data, answers_as_text as answers_as_text
