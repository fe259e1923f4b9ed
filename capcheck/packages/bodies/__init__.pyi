from .explanation import explain as explain, explain_data as explain_data
from .reach import reach_of as reach_of
from .template import library_template as library_template
from .weighing import bodies_of as bodies_of
