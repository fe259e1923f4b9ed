"""A worker reaches no network, starts no program and writes nowhere but into its folder, whoever sees to it."""

import contextlib
import os
import resource
import signal
import socket
import subprocess
import sys
import tempfile
from pathlib import Path

import pytest

from capcheck.desk.workers import confinement

REFUSED_BY_THE_KERNEL_ALONE = {"a signal", "a pipe", "machine code"}


def _unix_socket(address):
    with socket.socket(socket.AF_UNIX) as asking:
        asking.connect(address)


def _opened_by_machine_code(path):
    import ctypes

    if ctypes.CDLL(None).open(str(path).encode(), os.O_WRONLY | os.O_CREAT, 0o644) < 0:
        raise PermissionError


def _fresh(folder):
    """Make a folder and return it."""
    folder.mkdir()
    return folder


def _forked(confined):
    """What *confined* returns in a process of its own, as text."""
    told, tell = os.pipe()
    pid = os.fork()
    if not pid:
        try:
            os.write(tell, str(confined()).encode())
        except Exception as error:  # noqa: BLE001 - it is told where the test looks
            os.write(tell, repr(error).encode())
        finally:
            os._exit(0)
    os.waitpid(pid, 0)
    os.close(tell)
    with os.fdopen(told, "rb") as text:
        return text.read().decode()


@pytest.mark.parametrize("by", ["kernel", "interpreter"])
def test_a_worker_does_nothing_outside_its_folder(tmp_path, monkeypatch, by):
    folder, outside = _fresh(tmp_path / "own"), _fresh(tmp_path / "outside")
    (outside / "kept").write_text("1", encoding="utf-8")
    (outside / "kept").chmod(0o600)
    (folder / "moved").write_text("1", encoding="utf-8")
    listening = socket.create_server(("127.0.0.1", 0))
    beside = socket.socket(socket.AF_UNIX)
    beside.bind(str(tmp_path / "s"))
    beside.listen()
    other = subprocess.Popen([sys.executable, "-c", "import time; time.sleep(60)"])
    tries = {
        "a new file": lambda: (outside / "new").write_text("1", encoding="utf-8"),
        "a file that is there": lambda: (outside / "kept").write_text("2", encoding="utf-8"),
        "taking away": (outside / "kept").unlink,
        "moving out": lambda: (folder / "moved").rename(outside / "moved"),
        "a folder": (outside / "made").mkdir,
        "the network": lambda: socket.create_connection(listening.getsockname(), timeout=2),
        "a program of this machine": lambda: _unix_socket(str(tmp_path / "s")),
        "a program": lambda: subprocess.run(["/bin/true"], check=True),
        "a link": lambda: (folder / "link").symlink_to("/etc/passwd"),
        "a link to a file": lambda: os.link(outside / "kept", folder / "kept"),
        "a pipe": lambda: os.mkfifo(folder / "pipe"),
        "a signal": lambda: os.kill(other.pid, signal.SIGTERM),
        "machine code": lambda: _opened_by_machine_code(outside / "raw"),
    }
    if by == "interpreter":
        monkeypatch.setattr(confinement, "_landlocked", lambda *_: False)
        monkeypatch.setattr(confinement, "_leave_network", lambda *_: False)

    def confined():
        in_force = confinement.confine(folder)
        if by == "kernel" and "interpreter" in str(in_force):
            return "cannot"
        (folder / "own").write_text("1", encoding="utf-8")
        Path(os.devnull).write_text("1", encoding="utf-8")
        done = set()
        for name, attempt in tries.items():
            try:
                attempt()
                done.add(name)
            except OSError:
                continue
        with contextlib.suppress(PermissionError):
            (outside / "kept").chmod(0o777)  # the kernel says yes, and does nothing
        return sorted(done)

    told = _forked(confined)
    other.kill()
    other.wait()
    listening.close()
    beside.close()
    if told == "cannot":
        pytest.skip("this kernel, or this user of it, has no Landlock, no namespaces or no filter of calls")
    if by == "interpreter":
        (outside / "raw").unlink()
    else:
        assert told == "[]"
    assert set(eval(told)) <= REFUSED_BY_THE_KERNEL_ALONE  # noqa: S307 - a list that this test has written
    assert [path.name for path in outside.iterdir()] == ["kept"]
    assert (outside / "kept").read_text(encoding="utf-8") == "1"
    assert (outside / "kept").stat().st_mode & 0o777 == 0o600
    assert (folder / "own").exists()


def test_a_worker_raises_no_limit_and_multiplies_little():
    folder = Path(tempfile.mkdtemp())  # where every user may go
    folder.chmod(0o777)

    def confined():
        if os.getuid() == 0:
            os.setuid(65_534)  # the kernel counts no administrator's processes
        few = confinement.processes_of_user() + 5
        confinement.confine(folder)
        resource.setrlimit(resource.RLIMIT_FSIZE, (1 << 20, resource.RLIM_INFINITY))
        confinement.limit_for_good(few)
        for kind in (resource.RLIMIT_FSIZE, resource.RLIMIT_NPROC):
            with pytest.raises((ValueError, PermissionError)):
                resource.setrlimit(kind, (1 << 30, 1 << 30))
        children = []
        try:
            while len(children) < few + 50:
                pid = os.fork()
                if not pid:
                    signal.alarm(20)  # ends it, whatever becomes of its maker
                    signal.pause()
                    os._exit(0)
                children.append(pid)
        except BlockingIOError:
            return len(children) <= few
        finally:
            for pid in children:
                os.kill(pid, signal.SIGKILL)
                os.waitpid(pid, 0)
        return "it was never stopped"

    told = _forked(confined)
    folder.rmdir()
    assert told == "True"
