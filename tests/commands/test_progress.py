"""Progress on standard error: only at a terminal, and not before it takes a while.

Figures: invented.
"""

import io
import time

from capcheck.commands.progress import Boards, Working
from capcheck.values import phases_heard_by


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


def test_a_terminal_sees_which_phase_a_board_is_at_and_how_far(tmp_path):
    from capcheck.checking import check

    (tmp_path / "p.csv").write_text(
        "Ref,X [mm],Y [mm],Rotation,Side,Footprint\nR1,1,2,0,top,R0603\nR2,5,2,0,top,R0402\n"
    )
    heard, stream = [], Terminal()
    with Working("checking", stream) as working:

        def hear(phase, done, of):
            working.phase(phase, done, of)
            heard.append(working.text)

        with phases_heard_by(hear):
            check(placements=[tmp_path / "p.csv"])
    kinds = [text.split(":")[0].rstrip("0123456789 of") for text in heard]
    assert list(dict.fromkeys(kinds)) == ["reading files", "looking up kinds of parts", "answering rules"]
    assert "looking up kinds of parts: 2" in heard
    assert any(text.startswith("answering rules 7 of ") for text in heard)


def test_many_boards_show_how_far_they_are_and_how_fast():
    stream = Terminal()
    with Boards("surveying", stream, patience_s=0.0) as boards:
        late = time.monotonic() + 30
        done = 0
        while "left" not in stream.getvalue() and time.monotonic() < late:
            time.sleep(0.02)
            done += 1
            boards(done, 5_000, f"b{done}")
        with boards.silent():
            stream.write("a line of the report\n")
    shown = stream.getvalue()
    assert "of 5000 folders and archives, last b" in shown
    assert "left" in shown
    assert "a line of the report" in shown
