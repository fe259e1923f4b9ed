"""Files of foreign forms are read in a process of its own, under limits: what breaks there breaks no command.

Libraries that read workbooks and drawings are written for files of good will. A file of a few kilobytes can make one
abort the process, fill the memory or run for hours. One worker reads all such files of a run; what comes back is plain
data, decoded strictly, and whatever ends the worker becomes an :class:`~capcheck.values.InputError` with the file.
"""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
