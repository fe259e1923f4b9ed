"""Whether a line of placement machines can build a board: pass, warn or fail, with the reasons.

The public interface: :func:`check`, :func:`check_board`, :func:`read_board`, :func:`read_line`, :func:`read_machine`,
:func:`load_rules`, :func:`rules_that_ship`, :func:`read_configuration`, and the types of what they return; a
:class:`Report` writes itself as JSON, page and picture, and gives its rows as columns. Rules and facts in Python are
made with :func:`rule`, :func:`example`, :func:`at_most` and the others, on the columns :class:`Numbers`,
:class:`Truths`, :class:`Texts` and :class:`Sets`; units are in :mod:`capcheck.values`. Importing the package loads
none of it; each name is imported when it is first used.
"""

import sys
from os.path import realpath

if sys.argv[:1] == ["-m"] and not sys.flags.safe_path and realpath(sys.path[0]) != realpath(f"{__path__[0]}/.."):
    # "python -m capcheck" looks for every module in the working directory first: a customer's folder would be code.
    del sys.path[0]

import lazy_loader

from capcheck.version import __version__ as __version__

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
