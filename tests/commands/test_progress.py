"""Progress on standard error: only at a terminal, and not before it takes a while.

Figures: invented.
"""

import io
import time

from capcheck.commands.progress import Working


class Terminal(io.StringIO):
    def isatty(self):
        return True


def test_a_terminal_sees_work_that_takes_long():
    stream = Terminal()
    with Working("reading and checking", stream, patience_s=0.01):
        # The work takes as long as a loaded machine needs to tell of it.
        late = time.monotonic() + 30
        while "reading and checking" not in stream.getvalue() and time.monotonic() < late:
            time.sleep(0.01)
    assert "reading and checking" in stream.getvalue()


def test_quick_work_and_piped_work_say_nothing():
    quick, piped = Terminal(), io.StringIO()
    with Working("reading", quick, patience_s=5):
        pass
    with Working("reading", piped, patience_s=0.0):
        time.sleep(0.05)
    assert quick.getvalue() == ""
    assert piped.getvalue() == ""
