"""Processes that check boards end with the program, however it ends.

Figures: invented.
"""

import contextlib
import os
import signal
import subprocess
import sys

import pytest

ASLEEP = """
import sys, time
from pathlib import Path
from capcheck.survey.workers import Workers
with Workers(lambda path: time.sleep(30), 2) as workers:
    for path in ("a", "b", "c"):
        workers.send_ahead(Path(path))
    print("working", flush=True)
    workers(Path("a"))
"""


@pytest.mark.skipif(sys.platform == "win32", reason="no processes are forked there")
@pytest.mark.parametrize("sign", ["SIGTERM", "SIGKILL"])
def test_no_process_outlives_the_program(sign, in_time):
    running = subprocess.Popen([sys.executable, "-c", ASLEEP], stdout=subprocess.PIPE, start_new_session=True)
    try:
        assert running.stdout.readline() == b"working\n"
        with in_time(10, waiting=True):
            running.send_signal(getattr(signal, sign))
            running.communicate(timeout=10)  # waits for all who can write to its output
    finally:
        with contextlib.suppress(ProcessLookupError):
            os.killpg(running.pid, signal.SIGKILL)
        running.stdout.close()
        running.wait()
