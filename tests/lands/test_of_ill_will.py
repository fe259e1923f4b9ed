"""What is damaged, or made to stop whoever reads it, is named in a note or an error, and the rest of the board goes on.

Figures: boards and files are invented; the limits of two seconds and 500 MB are what the program promises.
"""

import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from capcheck.checking import check, read_board
from capcheck.intake.layers import time_allowed
from capcheck.lexicon import sentence

HEAD = "%TF.FileFunction,Soldermask,Top*%\n%FSLAX46Y46*%\n%MOMM*%\n"
FAR = 10**9


def many_flashes(count):
    return HEAD + "%ADD10C,1*%\nD10*\n" + "".join(f"X{k}Y{k}D03*\n" for k in range(count)) + "M02*\n"


BAD = {
    "cut off": HEAD + "%ADD10C,1*%\nD10*\nX1000000Y10",
    "no unit": HEAD.replace("%MOMM*%\n", "") + "%ADD10C,1*%\nD10*\nX1Y1D03*\nM02*\n",
    "a million flashes": many_flashes(1_000_000),
    "steps without end": HEAD + "%SRX100000Y100000I1J1*%\n%ADD10C,1*%\nD10*\nX1Y1D03*\n%SR*%\nM02*\n",
    "an absurd macro": HEAD + "%AMBIG*1,1,1e300,0,0*%\n%ADD10BIG*%\nD10*\nX1Y1D03*\nM02*\n",
    "a macro that divides by nothing": HEAD + "%AMDIV*1,1,1/0,0,0*%\n%ADD10DIV*%\nD10*\nX1Y1D03*\nM02*\n",
    "a macro of many corners": HEAD + "%AMP*5,1,1000000000,0,0,1,0*%\n%ADD10P*%\nD10*\nX1Y1D03*\nM02*\n",
    "far away": HEAD + f"%ADD10C,1*%\nD10*\nX{FAR}0000Y{FAR}0000D03*\nM02*\n",
    "a region that crosses itself": HEAD
    + "G36*\nX0Y0D02*\nX9000000Y9000000D01*\nX9000000Y0D01*\nX0Y9000000D01*\nX0Y0D01*\nG37*\nM02*\n",
    "no text": "%FSLAX46Y46*%\n\x01\x02\x7f" * 50,
}


@pytest.mark.parametrize("what", BAD)
def test_a_bad_layer_leaves_the_board_as_it_is_without(board, resistors, tmp_path, what, in_time):
    rows, _ = resistors
    (tmp_path / "bad.gbr").write_text(BAD[what])
    folder = board(rows, read=False)
    with in_time(2.0):
        found = read_board(folder)
        assert len(found.placements) == 12
        assert found.lands is None


READ_ALL = """
import pathlib, re, resource, sys
from capcheck.checking import read_board
for folder in sys.argv[1:]:
    read_board(folder)
own = re.search(r"VmHWM:\\s+(\\d+) kB", pathlib.Path("/proc/self/status").read_text())
print(max(int(own[1]), resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss))
"""
"""The greatest use since the start, in KiB. What ``ru_maxrss`` says of a process begins with that of its parent."""


@pytest.mark.skipif(not Path("/proc/self/status").exists(), reason="Linux tells it there")
def test_bad_layers_fill_no_memory(board, resistors, tmp_path):
    """In a process of its own: this one's greatest use is that of all tests before."""
    rows, _ = resistors
    whole = board(rows, read=False)
    folders = []
    for number, text in enumerate(BAD.values()):
        folders.append(tmp_path.with_name(f"{tmp_path.name}-{number}"))
        shutil.copytree(whole, folders[-1])
        (folders[-1] / "bad.gbr").write_text(text)
    done = subprocess.run([sys.executable, "-c", READ_ALL, *folders], capture_output=True, text=True, check=True)
    assert int(done.stdout) < 500 * 1024  # KiB, by definition


@pytest.mark.parametrize("what", ["no unit", "a million flashes", "steps without end", "far away"])
def test_a_note_names_the_layer_and_what_is_wrong(board, resistors, tmp_path, what):
    rows, _ = resistors
    (tmp_path / "bad.gbr").write_text(BAD[what])
    told = [n for n in board(rows).notes if getattr(n.said, "key", "") == "lands.not read"]
    assert [n.place.file.rpartition("/")[2] for n in told] == ["bad.gbr"]
    assert told[0].said.values["what"]


@pytest.mark.parametrize(
    "drills",
    [
        "M48\nT1C0.3\n%\nT1\nX0123Y0456\nM30\n",
        "M48\nINCH,TZ\nT1C1e9\n%\nT1\nX1Y1\nM30\n",
        "M48\nMETRIC\nT1C0.3\n%\nT1\nR1000000X1\nM30\n",
        "M48\nMETRIC\n%\n",
    ],
)
def test_drills_that_state_no_format_or_are_damaged_cost_the_lands_nothing(board, resistors, drills):
    found = board(*resistors, holes__drl=drills)
    assert len(found.lands.of) == 12


@pytest.mark.parametrize(("count", "is_read"), [(190_000, True), (300_000, False)])
def test_very_many_holes_are_read_or_refused_in_no_long_time(board, resistors, count, is_read, in_time):
    """Those just below the limit have to be read; no board has so many."""
    hits = "".join(f"X{50 + k % 1000 / 50:.3f}Y{50 + k // 1000 / 50:.3f}\n" for k in range(count))
    drills = f"M48\n; #@! TF.FileFunction,Plated,1,2,PTH\nMETRIC\nT1C0.300\n%\nT1\n{hits}M30\n"
    folder = board(*resistors, read=False, holes__drl=drills)
    with in_time(2.0):
        found = read_board(folder)
        assert len(found.lands.of) == 12
        assert (len(found.lands.layers.holes("top")) == count) == is_read


def test_layers_beyond_the_time_for_all_of_a_board_are_not_read_and_prove_nothing(board, resistors, monkeypatch):
    monkeypatch.setattr(time_allowed, "_SECONDS_A_BOARD", 0.0)
    found = board(*resistors)
    assert len(found.placements) == 12
    assert found.lands is None
    assert any("took all the time" in sentence(note.said) for note in found.notes)


def test_a_file_that_takes_too_long_is_called_too_large_and_not_damaged():
    from capcheck.intake.confined import Reader
    from capcheck.values import UnreadableError

    with pytest.raises(UnreadableError) as raised:
        Reader("tests.lands.test_of_ill_will:_without_end", "send less", seconds_a_megabyte=0.0).read(__file__, str)
    problem = raised.value.problems[0]
    assert "takes more than" in problem.what
    assert "damaged" not in problem.why
    assert "larger than the time" in problem.why


def _without_end(_file, _argument):
    while True:
        pass


def test_the_same_layers_in_a_check_are_an_answer_all_the_same(board, resistors, tmp_path):
    rows, mask = resistors
    (tmp_path / "bad-paste-top.gbr").write_text(BAD["cut off"].replace("Soldermask", "Paste"))
    report = check(board(rows, mask, read=False))
    assert len(report.board.lands.of) == 12
