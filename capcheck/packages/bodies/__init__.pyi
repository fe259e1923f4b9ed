from .explanation import Options as Options, explain as explain, explain_data as explain_data
from .reach import reach_of as reach_of
from .template import key_of as key_of, library_template as library_template
from .weighing import bodies_of as bodies_of
from .witnesses import Witnesses as Witnesses, witnesses_of as witnesses_of
