"""Files as they are sent: under names of ours, within limits, all or none.

Figures: invented.
"""

import asyncio
import errno
from pathlib import Path

import httpx
import pytest

from capcheck.desk.web.uploads import UploadLimits, receive
from capcheck.values import InputError

SMALL = UploadLimits(files=3, each=100, total=150)


def sent(folder, files, limits=SMALL, fields=None, cut=None):
    """What comes of files that a browser sends, in pieces of a few bytes."""
    request = httpx.Request(
        "POST", "http://desk/", data=fields or {}, files=[("files", (name, data)) for name, data in files]
    )
    body = request.read()[:cut]

    async def stream():
        for at in range(0, len(body), 7):
            yield body[at : at + 7]

    def begin(_):
        made = folder / "arrived"
        made.mkdir()
        return made

    return asyncio.run(receive(stream(), request.headers["content-type"], begin, limits))


def test_files_come_whole_with_their_folders_and_fields(tmp_path):
    came = sent(
        tmp_path, [("pump/bom.csv", b"ref\r\nR1\r\n"), ("pump/gerber/top.gbr", b"--\r\n--")], fields={"name": "Pumpe ß"}
    )
    assert came.fields == {"name": "Pumpe ß"}
    assert [(shown, path.read_bytes(), size) for shown, path, size in came.files] == [
        ("pump/bom.csv", b"ref\r\nR1\r\n", 9),
        ("pump/gerber/top.gbr", b"--\r\n--", 6),
    ]


@pytest.mark.rows(
    "name",
    [
        "../../etc/passwd",
        "/etc/passwd",
        "..\\..\\windows\\system.ini",
        "<img src=x onerror=alert(1)>.csv",
        "a\x00b.csv",
        ".",
        "..",
        "con.csv",
        "x" * 400,
    ],
)
def test_a_name_is_shown_and_never_a_path(tmp_path_factory, name):
    folder = tmp_path_factory.mktemp("desk")
    [(shown, path, _)] = sent(folder, [(name, b"1")]).files
    assert path.resolve().is_relative_to(folder / "arrived")
    assert path.read_bytes() == b"1"
    assert not set(path.name) & set("<>\x00:\\")
    assert shown


def test_two_files_of_one_name_are_both_kept(tmp_path):
    came = sent(tmp_path, [("bom.csv", b"1"), ("bom.csv", b"2"), ("BOM.CSV", b"3")])
    assert sorted(path.read_bytes() for _, path, _ in came.files) == [b"1", b"2", b"3"]


@pytest.mark.rows(
    ("files", "told"),
    [
        ([("a", b"1")] * 4, "more than 3 files"),
        ([("a", b"1" * 101)], '"a" is larger than'),
        ([("a", b"1" * 90), ("b", b"1" * 90)], "larger than 0 MB together"),
    ],
)
def test_too_much_is_refused_and_nothing_of_it_kept(tmp_path_factory, files, told):
    folder = tmp_path_factory.mktemp("desk")
    with pytest.raises(InputError, match=told):
        sent(folder, files)
    assert list(folder.iterdir()) == []


def test_what_arrives_torn_is_not_kept(tmp_path):
    with pytest.raises(InputError, match="arrived torn"):
        sent(tmp_path, [("a.csv", b"1" * 50)], cut=190)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.rows(
    "body",
    [
        b"--x\r\n" + b"A" * 20_000 + b": b\r\n\r\n1\r\n--x--\r\n",
        b"--x\r\nA: " + b"b" * 20_000 + b"\r\n\r\n1\r\n--x--\r\n",
        b"--x\r\n" + b"".join(b"A%d: b\r\n" % n for n in range(200)) + b"\r\n1\r\n--x--\r\n",
        b"--x\r\n: \r\n\r\n1\r\n--x--\r\n",
        b"nothing of the kind",
    ],
)
def test_a_body_without_an_end_or_a_form_is_refused(tmp_path_factory, body):
    folder = tmp_path_factory.mktemp("desk")

    async def stream():
        yield body

    for boundary in ("x", "x" * 5_000):
        with pytest.raises(InputError, match="arrived torn"):
            asyncio.run(receive(stream(), f"multipart/form-data; boundary={boundary}", lambda _: folder, SMALL))


def test_what_stands_beside_files_is_bounded_too(tmp_path):
    """A part whose file has no name is what a browser sends where none was chosen; its bytes are of no file."""

    async def stream():
        for _ in range(10):
            yield b'--x\r\nContent-Disposition: form-data; name="f"; filename=""\r\n\r\n' + b"1" * 500_000 + b"\r\n"

    with pytest.raises(InputError, match="more than files of that size need"):
        asyncio.run(receive(stream(), "multipart/form-data; boundary=x", lambda _: tmp_path, SMALL))


def test_a_full_disk_is_told_and_nothing_half_kept(tmp_path, monkeypatch):
    opened = Path.open

    def full(self, *args, **kwargs):
        if self.name == "b.csv":
            raise OSError(errno.ENOSPC, "No space left on device")
        return opened(self, *args, **kwargs)

    monkeypatch.setattr(Path, "open", full)
    with pytest.raises(InputError, match="the disk is full"):
        sent(tmp_path, [("a.csv", b"1"), ("b.csv", b"2")])
    assert list(tmp_path.iterdir()) == []
