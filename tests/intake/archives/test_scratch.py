"""What a killed run leaves of unpacked archives is taken away by the next, and nothing else is.

Figures: modes of files and seconds are invented.
"""

import os
import signal
import subprocess
import sys
import tempfile
from pathlib import Path

import pytest

from capcheck.intake.archives.scratch import new_folder, remove_folder

HOLD = (
    "import sys, time; from capcheck.intake.archives.scratch import new_folder; "
    "print(new_folder(), flush=True); time.sleep(60)"
)


@pytest.fixture
def there(tmp_path, monkeypatch):
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    return tmp_path


@pytest.fixture
def other(there):
    run = subprocess.Popen(
        [sys.executable, "-c", HOLD], env={**os.environ, "TMPDIR": str(there)}, stdout=subprocess.PIPE, text=True
    )
    assert run.stdout is not None
    yield run, Path(run.stdout.readline().strip())
    run.kill()
    run.wait()
    run.stdout.close()


def test_what_a_killed_run_left_is_removed(other):
    run, left = other
    (left / "board").mkdir()
    (left / "board" / "a.csv").write_text("x")
    run.send_signal(signal.SIGKILL)
    run.wait()
    mine = new_folder()
    assert not left.exists()
    remove_folder(str(mine))
    assert not mine.exists()


def test_what_a_living_run_has_stays(other):
    _, held = other
    remove_folder(str(new_folder()))
    assert held.exists()


def test_own_folders_stay_while_they_are_used(there):
    one, another = new_folder(), new_folder()
    assert one.exists()
    remove_folder(str(another))
    remove_folder(str(one))
    assert list(there.iterdir()) == []


def test_what_is_no_folder_of_a_run_stays(there):
    (there / "capcheck-mine").mkdir()
    (there / "capcheck-mine" / "notes").write_text("x")
    (there / "elsewhere").mkdir(mode=0o755)
    (there / "elsewhere" / ".in-use").write_text("")
    (there / "capcheck-link").symlink_to(there / "elsewhere")
    (there / "capcheck-open").mkdir()
    (there / "capcheck-open").chmod(0o755)
    (there / "capcheck-open" / ".in-use").write_text("")
    remove_folder(str(new_folder()))
    assert {path.name for path in there.iterdir()} == {"capcheck-mine", "elsewhere", "capcheck-link", "capcheck-open"}
    assert (there / "elsewhere" / ".in-use").exists()
