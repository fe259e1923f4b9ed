"""Every file of a 7z archive is unpacked, also where two bear one name.

Figures: invented.
"""

import py7zr
import pytest

from capcheck.intake.archives.archive import removed_at_the_end, unpack
from capcheck.intake.archives.seven_zip import SevenZip

ONE, TWO, THREE = b"Ref,X\nR1,1\n", b"Ref,X\nR2,2\n", b"Ref,X\nR3,3\n"


def written(file, members):
    with py7zr.SevenZipFile(file, "w") as archive:
        for name, data in members:
            archive.writestr(data, name)
    return file


@pytest.mark.parametrize(
    "members",
    [
        [("a.csv", ONE), ("a.csv", TWO)],
        [("a.csv", ONE), ("b.csv", THREE), ("a.csv", TWO)],
        [("a.csv", ONE), ("a.csv", TWO), ("a.csv_0", THREE)],
        [("a.csv", ONE), ("a.csv", b""), ("a.csv", TWO)],
    ],
)
@pytest.mark.parametrize("at_once", [1, 1000])
def test_two_members_of_one_name_are_two_files(tmp_path, members, at_once):
    file = written(tmp_path / "board.7z", members)
    with file.open("rb") as stream:
        archive = SevenZip(str(file), stream, at_once)
        assert [archive.read(one) for one in archive.files] == [data for _, data in members]
    with removed_at_the_end():
        assert sorted(one.read_bytes() for one in unpack(file)) == sorted(data for _, data in members)
