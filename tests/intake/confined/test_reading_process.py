"""Whatever a foreign file does to its reader, the command goes on: an error with file, reason and remedy.

Figures: invented, or the digits of the text.
"""

from __future__ import annotations

import io
import os
import subprocess
import sys
import threading
import zipfile
from pathlib import Path

import numpy as np
import pytest
import shapely
from msgspec import Struct

from capcheck.intake.confined import Reader, SharedTime, worker
from capcheck.intake.confined.forked import Forked
from capcheck.intake.confined.frames import decoded, encoded
from capcheck.intake.files.foreign import read_grids
from capcheck.intake.files.form import open_file
from capcheck.intake.outline import OutlineOptions, outline_file, under_limits
from capcheck.intake.tables import read_tables
from capcheck.model import Floats, Note, say
from capcheck.values.errors import InputError

ROOT = Path(__file__).resolve().parents[3]
FIXTURES = ROOT / "fixtures"
READERS = """
import os, sys, time

def plain(file, argument): return ["a", 1]
def abort(file, argument): os.abort()
def crash(file, argument):
    import ctypes
    ctypes.string_at(0)
def spin(file, argument):
    while True: pass
def work(file, argument):
    end = time.process_time() + 0.05
    while time.process_time() < end: pass
    return "done"
def sleep(file, argument): time.sleep(60)
def grow(file, argument): return "a" * (1 << 40)
def grow_slowly(file, argument):
    kept = []
    while True: kept.append(bytes(1 << 20))
def deep(file, argument): return deep(file, argument)
def panic(file, argument): raise BaseException("panic")
def leave(file, argument): sys.exit(0)
def much(file, argument): return ["x" * 1000] * 100_000
def write(file, argument):
    with open(file + ".written", "w") as stream: stream.write("x" * (1 << 24))
def say(file, argument):
    print("said aloud", flush=True)
    sys.stderr.write("said aloud")
    return "fine"
def odd(file, argument): return {"no": "list"}
def folders(file, argument): return sys.path
def opened(file, argument):
    return [os.path.realpath(f"/proc/self/fd/{number}") for number in os.listdir("/proc/self/fd")]
def told(file, argument): return [name for name in os.environ if name == "XDG_CACHE_HOME"]
"""
OUTLINES = [FIXTURES / "flow-sensor" / "outline.dxf", *sorted(FIXTURES.glob("*/*.dxf"))]


@pytest.fixture
def ask(tmp_path, monkeypatch):
    """Call a function of READERS on a file, in a process of its own."""
    (tmp_path / "readers_of_the_test.py").write_text(READERS)
    (tmp_path / "file").write_text("content")
    monkeypatch.syspath_prepend(tmp_path)
    monkeypatch.setattr(worker, "WORKER", worker.Worker())

    def called(name: str, form: type = str, shared: SharedTime | None = None) -> object:
        return Reader(f"readers_of_the_test:{name}", "mend it").read(str(tmp_path / "file"), form, None, shared)

    yield called
    worker.WORKER._end()


@pytest.mark.parametrize(
    ("name", "reason"),
    [
        ("abort", "broke off"),
        ("crash", "broke off"),
        ("spin", "more than 1.5 s"),
        ("grow", "more than 320 MB of memory"),
        ("grow_slowly", "more than 320 MB of memory"),
        ("deep", "RecursionError"),
        ("panic", "panic"),
        ("leave", "SystemExit"),
        ("much", "100 MB of text"),
        ("write", "OSError"),
        ("odd", "no answer"),
        ("missing", "AttributeError"),
    ],
)
@pytest.mark.skipif(sys.platform == "win32", reason="the platform has no limits")
def test_what_breaks_a_reader_is_an_error_with_reason_and_remedy(ask, name, reason):
    with pytest.raises(InputError) as caught:
        ask(name)
    (problem,) = caught.value.problems
    assert problem.where.file.endswith("file")
    assert reason in problem.what
    assert problem.remedy == "mend it"
    assert ask("say") == "fine"  # the next file is read


def test_files_that_share_a_time_are_read_until_it_is_used_up(ask):
    shared = SharedTime(0.08)
    assert [ask("work", shared=shared) for _ in range(2)] == ["done"] * 2
    with pytest.raises(InputError, match="all the time there is"):
        ask("work", shared=shared)
    assert ask("work", shared=SharedTime(0.08)) == "done"


@pytest.mark.skipif(sys.platform == "win32", reason="the platform has no limits")
def test_a_file_that_is_stopped_takes_its_whole_time_off_what_is_shared(ask):
    shared = SharedTime(9.0)
    with pytest.raises(InputError, match=r"more than 1\.5 s"):
        ask("spin", shared=shared)
    assert shared.seconds == pytest.approx(7.5, abs=0.01)


def test_a_reader_that_hangs_is_given_up(ask, monkeypatch, in_time):
    monkeypatch.setattr(worker, "_PATIENCE_S", 0.1)
    with in_time(5, waiting=True), pytest.raises(InputError, match="more than"):
        ask("sleep")


@pytest.mark.skipif(sys.platform == "win32", reason="nothing is forked there")
def test_no_thread_waits_beside_the_asker(ask, monkeypatch):
    """A fork beside a thread is warned of from Python 3.12 on: a reader is waited for without one."""
    begun = []
    monkeypatch.setattr(threading.Thread, "start", begun.append)
    with pytest.raises(InputError):
        ask("abort")
    assert ask("say") == "fine"
    assert begun == []


def test_one_process_reads_all_files(ask):
    assert ask("plain", list) == ["a", 1]
    first = worker.WORKER._process.handle.pid
    assert ask("say") == "fine"
    assert worker.WORKER._process.handle.pid == first


def test_nothing_is_imported_from_the_folder_a_command_runs_in(tmp_path):
    customer = tmp_path / "customer"
    customer.mkdir()
    for name in ("msgspec", "python_calamine", "ezdxf", "resource", "signal"):
        (customer / f"{name}.py").write_text(f'open("{customer}/obeyed", "w")\n')
    (customer / "placements.xlsx").write_bytes(workbook('<row r="1"><c r="A1"><v>1</v></c></row>'))
    script = f"import sys; sys.path.insert(0, {str(ROOT)!r}); from capcheck.cli import main; main(['read', '.'])"
    environment = {**os.environ, "PYTHONSAFEPATH": "1"}
    subprocess.run([sys.executable, "-c", script], cwd=customer, env=environment, check=True, capture_output=True)
    assert not (customer / "obeyed").exists()


class Record(Struct):
    numbers: Floats
    area: object
    notes: list[Note]


def test_arrays_contours_and_statements_come_back_as_they_were():
    polygon = shapely.box(0.1, 0.2, 3, 4).difference(shapely.box(1, 1, 2, 2))
    record = Record(np.array([[0.1, np.pi], [np.inf, 5]]), polygon, [Note(say("a", inner=say("b", names=["x"]), n=1))])
    again = decoded(encoded(record), Record)
    assert np.array_equal(again.numbers, record.numbers)
    assert shapely.equals_exact(again.area, polygon, 0.0)
    assert again.notes == record.notes


@pytest.mark.parametrize("file", OUTLINES, ids=lambda file: file.parent.name + "/" + file.name)
def test_an_outline_is_the_same_read_apart_or_here(file):
    def read_by(read):
        try:
            return read(file, OutlineOptions())
        except InputError as error:
            return error.problems

    assert read_by(under_limits.read_outline) == read_by(outline_file.read_outline)


MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
OFFICE = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
PACKAGE = "http://schemas.openxmlformats.org/package/2006"
TYPE = "application/vnd.openxmlformats-officedocument.spreadsheetml"
CELL = '<c r="A1"><v>1</v></c>'
FAR = "<v>1</v></c></row>"


def workbook(rows: str, *, name: str = "sheet1.xml", sheet: str = "", strings: str = "", **parts: str) -> bytes:
    sheet = sheet or f'<worksheet xmlns="{MAIN}"><sheetData>{rows}</sheetData></worksheet>'
    content = {
        "[Content_Types].xml": f'<Types xmlns="{PACKAGE}/content-types"><Default Extension="rels" '
        'ContentType="application/vnd.openxmlformats-package.relationships+xml"/><Override PartName="/xl/workbook.xml" '
        f'ContentType="{TYPE}.sheet.main+xml"/><Override PartName="/xl/worksheets/{name}" '
        f'ContentType="{TYPE}.worksheet+xml"/></Types>',
        "_rels/.rels": f'<Relationships xmlns="{PACKAGE}/relationships"><Relationship Id="r1" '
        f'Type="{OFFICE}/officeDocument" Target="xl/workbook.xml"/></Relationships>',
        "xl/workbook.xml": f'<workbook xmlns="{MAIN}" xmlns:r="{OFFICE}"><sheets>'
        '<sheet name="p" sheetId="1" r:id="r1"/></sheets></workbook>',
        "xl/_rels/workbook.xml.rels": f'<Relationships xmlns="{PACKAGE}/relationships"><Relationship Id="r1" '
        f'Type="{OFFICE}/worksheet" Target="worksheets/{name}"/><Relationship Id="r2" '
        f'Type="{OFFICE}/sharedStrings" Target="sharedStrings.xml"/></Relationships>',
        f"xl/worksheets/{name}": sheet,
        **({"xl/sharedStrings.xml": strings} if strings else {}),
        **parts,
    }
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for part, text in content.items():
            archive.writestr(part, text)
    return out.getvalue()


def open_document(rows: str, prefix: str = "table") -> bytes:
    urn = "urn:oasis:names:tc:opendocument:xmlns"
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("mimetype", "application/vnd.oasis.opendocument.spreadsheet", zipfile.ZIP_STORED)
        archive.writestr("META-INF/manifest.xml", f'<m:manifest xmlns:m="{urn}:manifest:1.0"/>')
        archive.writestr(
            "content.xml",
            f'<o:document-content xmlns:o="{urn}:office:1.0" xmlns:{prefix}="{urn}:table:1.0" '
            f'xmlns:text="{urn}:text:1.0"><o:body><o:spreadsheet><{prefix}:table {prefix}:name="T">{rows}'
            f"</{prefix}:table></o:spreadsheet></o:body></o:document-content>",
        )
    return out.getvalue()


# A worksheet holds 1,048,576 rows and 16,384 columns at most: from memory.
def repeated(prefix: str) -> str:
    cell = f'<{prefix}:table-cell {prefix}:number-columns-repeated="16384" o:value-type="float" o:value="1">'
    return (
        f'<{prefix}:table-row {prefix}:number-rows-repeated="1048576">{cell}<text:p>1</text:p></{prefix}:table-cell>'
        f"</{prefix}:table-row>"
    )


# 1,048,576 rows by 16,384 columns are the most that a worksheet holds; from memory.
BOMBS = {
    "a far cell": workbook(f'<row r="1">{CELL}</row><row r="1048576"><c r="XFD1048576">{FAR}'),
    "another attribute first": workbook(f'<row r="1">{CELL}</row><row r="1048576"><c t="n" r="XFD1048576">{FAR}'),
    "other quotes": workbook(f"<row r=\"1\">{CELL}</row><row r='1048576'><c r='XFD1048576'>{FAR}"),
    "spaces": workbook(f'<row r="1">{CELL}</row><row r="1048576"><c  r = "XFD1048576" >{FAR}'),
    "small letters": workbook(f'<row r="1">{CELL}</row><row r="1048576"><c r="xfd1048576">{FAR}'),
    "the far cell first": workbook(f'<row r="1048576"><c r="XFD1048576">{FAR}<row r="1">{CELL}</row>'),
    "beyond any sheet": workbook(f'<row r="1">{CELL}</row><row r="4294967295"><c r="ZZZZZZ4294967295">{FAR}'),
    "another part": workbook(f'<row r="1">{CELL}</row><row r="9"><c r="XFD1048576">{FAR}', name="data.dat"),
    "cells without a place": workbook(
        f'<row r="1">{CELL}</row><row r="1048575"><c r="A1048575">{FAR}<row>' + "<c><v>1</v></c>" * 16000 + "</row>"
    ),
    "another prefix": workbook(
        "",
        sheet=f'<x:worksheet xmlns:x="{MAIN}"><x:sheetData><x:row r="1"><x:c r="A1"><x:v>1</x:v></x:c></x:row>'
        '<x:row r="1048576"><x:c t="n" r="XFD1048576"><x:v>1</x:v></x:c></x:row></x:sheetData></x:worksheet>',
    ),
    "one long text in every cell": workbook(
        "".join(f"<row r='{r}'>" + f"<c t='s' r='A{r}'><v>0</v></c>" + "</row>" for r in range(1, 5001)),
        strings=f'<sst xmlns="{MAIN}"><si ><t>{"x" * 300_000}</t></si ></sst>',
    ),
    "a part of blanks": workbook(f'<row r="1">{CELL}</row>', note=" " * 100_000_000),
    "repeated rows and columns": open_document(repeated("table")),
    "repeated under another prefix": open_document(repeated("t"), prefix="t"),
    "rows that never end": open_document("<table:table-row>" * 200_000),
}


@pytest.mark.skipif(sys.platform == "win32", reason="the platform has no limits")
@pytest.mark.parametrize("name", BOMBS)
def test_a_workbook_that_would_fill_the_memory_is_refused_in_words(tmp_path, name):
    file = tmp_path / "placements.xlsx"
    file.write_bytes(BOMBS[name])
    with pytest.raises(InputError) as caught:
        read_tables(file)
    assert caught.value.problems[0].where.file == str(file)
    assert caught.value.problems[0].remedy


def test_a_workbook_gives_the_same_cells_read_apart_or_here(tmp_path):
    file = tmp_path / "placements.xlsx"
    file.write_bytes(workbook("".join(f'<row r="{r}"><c r="B{r}"><v>{r}.5</v></c></row>' for r in (1, 2, 300))))
    assert open_file(str(file)) == read_grids(str(file), b"")


@pytest.mark.parametrize("what", ["step and repeat", "crossing lines", "arcs of a kilometre"])
def test_a_drawing_that_stands_for_millions_of_lines_is_refused_in_words(tmp_path, what):
    pytest.importorskip("gerbonara")
    start = "%FSLAX46Y46*%\n%MOMM*%\n%ADD10C,0.1*%\n"
    lines = "D10*\nX0Y0D02*\nX50000000Y0D01*\nX50000000Y40000000D01*\nX0Y0D01*\n"
    crossing = [f"X{i}000Y0D02*\nX{i}000Y40000000D01*\nX0Y{i}000D02*\nX40000000Y{i}000D01*\n" for i in range(1, 4000)]
    drawn = {
        "step and repeat": f"%SRX9999Y9999I1J1*%\n{lines}%SR*%\n",
        "crossing lines": "D10*\n" + "".join(crossing),
        "arcs of a kilometre": "G75*\nD10*\n" + "X0Y0D02*\nG03X1Y1I-999999999999J0D01*\n" * 20_000,
    }
    file = tmp_path / "board.gko"
    file.write_text(f"{start}{drawn[what]}M02*\n")
    with pytest.raises(InputError) as caught:
        under_limits.read_outline(file, OutlineOptions())
    assert caught.value.problems[0].where.file == str(file)
    assert caught.value.problems[0].remedy


def test_a_drawing_repeated_a_million_times_says_how_often(tmp_path):
    pytest.importorskip("gerbonara")
    file = tmp_path / "board.gko"
    file.write_text(
        "%FSLAX46Y46*%\n%MOMM*%\n%ADD10C,0.1*%\n%SRX9999Y9999I1J1*%\nD10*\nX0Y0D02*\nX1Y0D01*\n%SR*%\nM02*\n"
    )
    with pytest.raises(InputError, match="9,999 × 9,999 times"):
        under_limits.read_outline(file, OutlineOptions())


@pytest.mark.skipif(sys.platform != "linux", reason="elsewhere the reading process is always a new one")
def test_a_fork_reads_where_no_other_thread_can_hold_a_lock_else_a_new_process_does(ask):
    assert ask("plain", list) == ["a", 1]
    assert isinstance(worker.WORKER._process.handle, Forked)
    worker.WORKER._end()
    held = threading.Event()
    thread = threading.Thread(target=held.wait)
    thread.start()
    try:
        assert ask("plain", list) == ["a", 1]
        assert isinstance(worker.WORKER._process.handle, subprocess.Popen)
    finally:
        held.set()
        thread.join()


@pytest.mark.skipif(sys.platform != "linux", reason="elsewhere the reading process is always a new one")
def test_a_fork_has_nothing_of_its_asker_open_and_ends_with_it(ask, tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_CACHE_HOME", "relative")
    monkeypatch.syspath_prepend("")
    with (tmp_path / "of the asker").open("w"):
        assert "of the asker" not in " ".join(ask("opened", list))
    assert ask("told", list) == []
    assert "" not in ask("folders", list)
    pid = worker.WORKER._process.handle.pid
    worker.WORKER._process.pipes[0].close()  # as where the asker is killed
    assert worker.WORKER._process.handle.wait(5) == 0
    with pytest.raises(ProcessLookupError):
        os.kill(pid, 0)
