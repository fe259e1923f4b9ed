from .explanation import explain as explain, explain_data as explain_data
from .reach import reach_of as reach_of
from .unknowns import unknown_fields as unknown_fields
from .weighing import resolve as resolve
