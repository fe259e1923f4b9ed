"""A worker reaches no network, starts no program and writes nowhere but into its folder, whoever sees to it."""

import os
import socket
import subprocess
from pathlib import Path

import pytest

from capcheck.desk.workers import confinement


def _tried(folder, outside, monkeypatch, by):
    """What a confined process could do, as it tells by its exit code: a bit for each thing that it could."""
    if by == "interpreter":
        monkeypatch.setattr(confinement, "_landlocked", lambda *_: False)
        monkeypatch.setattr(confinement, "_leave_network", lambda *_: False)
    listening = socket.create_server(("127.0.0.1", 0))
    (outside / "kept").write_text("1", encoding="utf-8")
    tries = [
        lambda: (outside / "new").write_text("1", encoding="utf-8"),
        lambda: (outside / "kept").write_text("2", encoding="utf-8"),
        (outside / "kept").unlink,
        lambda: (folder / "moved").rename(outside / "moved"),
        lambda: socket.create_connection(listening.getsockname(), timeout=2),
        lambda: subprocess.run(["/bin/true"], check=True),
        (outside / "made").mkdir,
    ]
    pid = os.fork()
    if not pid:
        code = 255
        try:
            (folder / "moved").write_text("1", encoding="utf-8")
            in_force = confinement.confine(folder)
            if by == "kernel" and "interpreter" in str(in_force):
                os._exit(254)
            (folder / "own").write_text("1", encoding="utf-8")
            Path(os.devnull).write_text("1", encoding="utf-8")
            code = 0
            for bit, attempt in enumerate(tries):
                try:
                    attempt()
                    code |= 1 << bit
                except OSError:
                    continue
        finally:
            os._exit(code)
    code = os.waitstatus_to_exitcode(os.waitpid(pid, 0)[1])
    listening.close()
    if code == 254:
        pytest.skip("this kernel, or this user of it, has no Landlock or no namespaces")
    return code


@pytest.mark.parametrize("by", ["kernel", "interpreter"])
def test_a_worker_does_nothing_outside_its_folder(tmp_path, monkeypatch, by):
    folder, outside = tmp_path / "own", tmp_path / "outside"
    folder.mkdir()
    outside.mkdir()
    assert bin(_tried(folder, outside, monkeypatch, by)) == "0b0"
    assert [path.name for path in outside.iterdir()] == ["kept"]
    assert (outside / "kept").read_text(encoding="utf-8") == "1"
    assert (folder / "own").exists()
