"""Names in an archive may be of any encoding and form; the files are read all the same, and none becomes another.

Figures: small numbers of files and folders, invented.
"""

import io
import tarfile
import zipfile

import pytest

from capcheck.intake.archives.archive import OF_MANY_BOARDS, Limits, unpacked
from capcheck.values import InputError

CONTENT = b"Ref,X,Y\nR1,1,1\n"


@pytest.mark.parametrize("name", ["Gerät/plätze.csv".encode("latin-1"), b"b\xff\xfe/p.csv", b"\x1b[31m/p.csv"])
def test_a_tar_with_names_that_are_no_text_is_unpacked(tmp_path, name):
    path = tmp_path / "board.tar"
    with tarfile.open(path, "w", encoding="utf-8", errors="surrogateescape") as tar:
        member = tarfile.TarInfo(name.decode("utf-8", "surrogateescape"))
        member.size = len(CONTENT)
        tar.addfile(member, io.BytesIO(CONTENT))
    with unpacked(path, OF_MANY_BOARDS) as found:
        assert [file.read_bytes() for file in found.files] == [CONTENT]
        assert "\x1b" not in str(found.files[0])


BOARDS = [
    pytest.param([b"a/p.csv", b"a./p.csv", b"a /p.csv"], ["a", "1-a", "2-a"], id="a trailing point or blank"),
    pytest.param([b"Board/p.csv", b"board/p.csv"], ["Board", "board"], id="capitals"),
    pytest.param([b"a?/p.csv", b"a*/p.csv"], ["a_", "1-a_"], id="signs that no file name may have"),
    pytest.param([b"aux/p.csv", b"COM1.x/p.csv"], ["_aux", "_COM1.x"], id="names of devices"),
    pytest.param([b"%d/a/b/c/p.csv" % n for n in (1, 2)], ["a/b/c", "1-a/b/c"], id="what is cut off above"),
    pytest.param([b"./a/p.csv", b"b/p.csv"], ["a", "b"], id="the folder itself"),
    pytest.param(["基板/表.csv".encode("cp932"), "部品/座標.csv".encode("cp932")], ["基板", "部品"], id="Shift-JIS"),
    pytest.param(["gerät/p.csv".encode("cp437"), b"b/p.csv"], ["gerät", "b"], id="what the form says"),
    pytest.param(["menü\\p.csv".encode("cp437"), b"b\\p.csv"], ["menü", "b"], id="a backslash that parts"),
    pytest.param(["gerät/p.csv".encode(), b"b/p.csv"], ["gerät", "b"], id="UTF-8 that is not said"),
]


@pytest.mark.parametrize(("names", "folders"), BOARDS)
def test_no_two_folders_of_an_archive_become_one_and_no_file_is_lost(tmp_path, names, folders):
    """Half of a Japanese character of Shift-JIS is a backslash; read as one, it parted a name and hid the file."""
    file = named(tmp_path / "x.zip", names)
    with unpacked(file, Limits(files=9, size=9_000, depth=4)) as content:
        found = [path.parent.relative_to(content.folder).as_posix() for path in content.files]
        assert [path.read_bytes() for path in content.files] == names
    assert found == folders


def test_two_files_of_one_name_lie_beside_each_other(tmp_path):
    file = named(tmp_path / "x.zip", [b"a/p.csv", b"a/p.csv"])
    with unpacked(file, Limits(files=9, size=9_000, depth=4)) as content:
        assert [path.relative_to(content.folder).as_posix() for path in content.files] == ["a/p.csv", "a/1-p.csv"]


def test_a_tar_of_too_many_files_is_refused_before_all_their_names_are_read(tmp_path):
    with tarfile.open(tmp_path / "x.tar", "w") as archive:
        for number in range(50):
            archive.addfile(tarfile.TarInfo(f"{number}.txt"))
    with pytest.raises(InputError, match="10 files or more"), unpacked(tmp_path / "x.tar", Limits(9, 9_000, 4)):
        pass


def named(path, names):
    """Write a zip archive whose names are these bytes, in no encoding that it states; each holds its own name."""
    with zipfile.ZipFile(path, "w") as archive:
        for number, name in enumerate(names):
            archive.writestr(f"{number:0{len(name)}}", name)
    packed = path.read_bytes()
    for number, name in enumerate(names):
        told = f"{number:0{len(name)}}".encode()
        for mark, behind in ((b"PK\x03\x04", 30), (b"PK\x01\x02", 46)):  # a file's own header, and that of the list
            at = -1
            while (at := packed.find(mark, at + 1)) >= 0:
                if packed[at + behind : at + behind + len(told)] == told:
                    packed = packed[: at + behind] + name + packed[at + behind + len(told) :]
                    break
    path.write_bytes(packed)
    return path
