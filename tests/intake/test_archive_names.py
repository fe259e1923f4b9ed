"""Names in an archive may be of any encoding; the files are read all the same."""

import io
import tarfile

import pytest

from capcheck.intake.archive import OF_MANY_BOARDS, unpacked

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
