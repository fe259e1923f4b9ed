"""Undamaged files of the forms that come beside a board, come back from a customer, or are the shop's own.

Figures: boards, places and sizes are invented.
"""

from __future__ import annotations

import contextlib
import io
import tarfile
import tempfile
import zipfile
from collections.abc import Mapping
from pathlib import Path
from typing import NamedTuple

FIXTURES = Path(__file__).resolve().parents[2] / "fixtures"
LINE = str(FIXTURES / "lines" / "full.line.toml")
STRIP = str(FIXTURES / "light-strip")
DEMO = str(FIXTURES / "irrigation-controller")
SPOTS = [(7.0 * i + 0.3 * (i % 3), 5.0 + 4.0 * (i % 4)) for i in range(1, 13)]
ROWS = [("Ref", "Value", "Footprint", "X (mm)", "Y (mm)", "Rotation", "Side")] + [
    (f"R{i}", "10k", "RESC1608X50N", f"{x:g}", f"{y:g}", "0", "top") for i, (x, y) in enumerate(SPOTS, 1)
]
PLACEMENTS = "".join(",".join(row) + "\n" for row in ROWS).encode()
FOLDER = "{folder}"


class Form(NamedTuple):
    """A file's name, an undamaged file, the command on it ({} is the file), and the files beside it."""

    name: str
    data: bytes
    command: tuple[str, ...]
    beside: Mapping[str, bytes] = {}


def _mask() -> str:
    flashes = "".join(f"X{round((x + dx) * 1e6)}Y{round(y * 1e6)}D03*\n" for x, y in SPOTS for dx in (-0.8, 0.8))
    return (
        "%TF.FileFunction,Soldermask,Top*%\n%FSLAX46Y46*%\n%MOMM*%\n%AMROUND*1,1,$1,0,0*21,1,$1x2,$1,0,0,45*%\n"
        "%ADD10R,0.8X0.9*%\n%ADD11ROUND,0.5*%\n%ABD12*%\nD11*\nX0Y0D03*\n%AB*%\nD10*\n"
        f"{flashes}D12*\nX50000000Y30000000D03*\n%SRX2Y2I3.0J3.0*%\nX10000000Y30000000D03*\n%SR*%\n"
        "G36*\nX0Y0D02*\nX1000000Y0D01*\nG75*\nG03*\nX0Y1000000I-1000000J0D01*\nG37*\n%LPC*%\nD11*\nX0Y0D03*\nM02*\n"
    )


def _copper() -> str:
    pads = "".join(
        f"%TO.P,R{i},{pin}*%\nX{round((x + dx) * 1e6)}Y{round(y * 1e6)}D03*\n"
        for i, (x, y) in enumerate(SPOTS, 1)
        for pin, dx in ((1, -0.8), (2, 0.8))
    )
    return f"%TF.FileFunction,Copper,L1,Top*%\n%FSLAX46Y46*%\n%MOMM*%\n%ADD10R,0.8X0.9*%\nD10*\n{pads}M02*\n"


def _netlist() -> str:
    """Records as IPC-D-356 lays out their columns; a step is a ten-thousandth of an inch."""
    records = "".join(
        f"327{'NET':<14}   {f'R{i}':<6}-{pin:<4} {'':<6}A01"
        f"X{round((x + dx) / 0.00254):+07d}Y{round(y / 0.00254):+07d}X0300Y0300\n"
        for i, (x, y) in enumerate(SPOTS, 1)
        for pin, dx in ((1, -0.8), (2, 0.8))
    )
    return f"P  JOB   INVENTED\nP  UNITS CUST 0\n{records}999\n"


def _ipc2581() -> str:
    placed = "".join(
        f'<Component refDes="R{i}" packageRef="A" layerRef="TOP" part="PN" mountType="SMT" height="0.6">'
        f'<Xform rotation="90"/><Location x="{x}" y="{y}"/></Component>\n'
        for i, (x, y) in enumerate(SPOTS, 1)
    )
    pins = "".join(
        f'<Pin number="{i}" type="SURFACE" electricalType="ELECTRICAL"><Location x="{x}" y="0"/></Pin>\n'
        for i, x in ((1, -0.8), (2, 0.8))
    )
    edge = "".join(f'<PolyStepSegment x="{x}" y="{y}"/>' for x, y in ((60, 0), (60, 40), (0, 40), (0, 0)))
    return (
        '<?xml version="1.0" encoding="UTF-8"?>\n<IPC-2581 revision="C" xmlns="http://webstds.ipc.org/2581">\n'
        '<Ecad name="a"><CadHeader units="MILLIMETER"/><CadData><Layer name="TOP" side="TOP"/><Step name="b">\n'
        f'<Package name="A" type="OTHER" height="0.5"><PickupPoint x="0" y="0"/>{pins}</Package>{placed}'
        f'<Profile><Polygon><PolyBegin x="0" y="0"/>{edge}</Polygon></Profile>'
        "</Step></CadData></Ecad></IPC-2581>\n"
    )


def _idf() -> tuple[str, str]:
    placed = "".join(f'"A" "PN" R{i}\n{x} {y} 0.0 90.0 TOP PLACED\n' for i, (x, y) in enumerate(SPOTS, 1))
    head = '.HEADER\n{kind}_FILE 3.0 "somebody" 2020/01/02.03:04:05 1\n{more}.END_HEADER\n'
    outline = (
        ".BOARD_OUTLINE MCAD\n1.6\n0 0.0 0.0 0.0\n0 95.0 0.0 0.0\n0 95.0 25.0 0.0\n0 0.0 25.0 0.0\n0 0.0 0.0 0.0\n"
    )
    board = head.format(kind="BOARD", more='"invented" MM\n') + f"{outline}.END_BOARD_OUTLINE\n.PLACEMENT\n{placed}"
    library = head.format(kind="LIBRARY", more="") + '.ELECTRICAL\n"A" "PN" MM 0.6\n0 0.0 0.0 0.0\n0 1.0 0.0 0.0\n'
    return f"{board}.END_PLACEMENT\n", f"{library}.END_ELECTRICAL\n"


def _holes() -> str:
    return (
        "M48\n;TYPE=NON_PLATED\nMETRIC,TZ,000.000\nT1C1.000\nT2C3.200\n%\nG90\nG05\nT1\nX5.0Y5.0\nX10.0\nR3X2.0Y1.0\n"
        "X30.0Y20.0G85X33.0Y20.0\nT2\nX90.0Y20.0\nG00X60.0Y20.0\nM15\nG01X62.0Y20.0\nG03X64.0Y20.0A1.0\nM16\nM30\n"
    )


def _drill_layer() -> str:
    return (
        "%TF.FileFunction,NonPlated,1,2,NPTH,Drill*%\n%FSLAX46Y46*%\n%MOMM*%\n%ADD10C,3.2*%\nD10*\nX5000000Y5000000D03*\n"
        "X9000000Y9000000D02*\nX12000000Y9000000D01*\nM02*\n"
    )


def open_document() -> bytes:
    """Return the placements as a small ODS after OASIS OpenDocument 1.2."""
    rows = "".join(
        "<table:table-row>"
        + "".join(f'<table:table-cell office:value-type="string"><text:p>{c}</text:p></table:table-cell>' for c in row)
        + "</table:table-row>"
        for row in ROWS
    )
    spaces = "".join(
        f' xmlns:{name}="urn:oasis:names:tc:opendocument:xmlns:{name}:1.0"' for name in ("office", "table", "text")
    )
    content = (
        f'<?xml version="1.0" encoding="UTF-8"?><office:document-content{spaces} office:version="1.2"><office:body>'
        f'<office:spreadsheet><table:table table:name="a">{rows}</table:table></office:spreadsheet></office:body>'
        "</office:document-content>"
    )
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        archive.writestr("mimetype", "application/vnd.oasis.opendocument.spreadsheet")
        archive.writestr("content.xml", content)
        manifest = "urn:oasis:names:tc:opendocument:xmlns:manifest:1.0"
        archive.writestr("META-INF/manifest.xml", f'<manifest:manifest xmlns:manifest="{manifest}"/>')
    return out.getvalue()


def _zip() -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for board in ("a", "b"):
            archive.writestr(f"order/{board}/placements.csv", PLACEMENTS.replace(b"R1,", f"{board}1,".encode()))
        archive.writestr("order/a/mask.gbr", _mask())
    return out.getvalue()


def _tar() -> bytes:
    out = io.BytesIO()
    with tarfile.open(fileobj=out, mode="w") as archive:
        for name, data in (("b/placements.csv", PLACEMENTS), ("b/test.ipc", _netlist().encode())):
            member = tarfile.TarInfo(name)
            member.size = len(data)
            archive.addfile(member, io.BytesIO(data))
    return out.getvalue()


def _seven_zip() -> bytes:
    import py7zr

    out = io.BytesIO()
    with py7zr.SevenZipFile(out, "w") as archive:
        for name, data in (("b/placements.csv", PLACEMENTS), ("b/test.ipc", _netlist().encode())):
            archive.writestr(data, name)
    return out.getvalue()


def _made(arguments: list[str], output: str) -> bytes:
    """Return what a command of the program writes to a file of that name."""
    from capcheck.cli import main

    with tempfile.TemporaryDirectory() as folder, contextlib.redirect_stdout(io.StringIO()):
        main([*arguments, str(Path(folder) / output)])
        return (Path(folder) / output).read_bytes()


def _kept() -> tuple[str, bytes]:
    """Return the name and the content of the result that a survey keeps of the board in a folder ``board``."""
    from capcheck.cli import main

    with tempfile.TemporaryDirectory() as folder, contextlib.redirect_stdout(io.StringIO()):
        board = Path(folder) / "board"
        board.mkdir()
        (board / "placements.csv").write_bytes(PLACEMENTS)
        main(["survey", str(board), "--line", LINE, "--plan-seconds", "0", "--keep", str(Path(folder) / "kept")])
        (file,) = (Path(folder) / "kept").iterdir()
        return file.name, file.read_bytes()


def _store() -> bytes:
    """Return a store with the parts of the demo board."""
    from capcheck.cli import main

    with tempfile.TemporaryDirectory() as folder, contextlib.redirect_stdout(io.StringIO()):
        file = Path(folder) / "parts.db"
        main(["library", "create", "--store", str(file)])
        main(["library", "offer", DEMO, "--store", str(file), "--keep"])
        return file.read_bytes()


ANSWERS_FILE = (
    "board,key,version,answer,closes,by,on,from,goes to\n"
    "Light strip,body-size:7c030,ab12,2.0 mm,yes,Ada,2026-03-03,list.csv row 4,packages.csv\n"
)
QUANTITIES = "board,per year\na,5000\nboard,250\n"
COSTS = """[costs]
currency = "EUR"
machine_hour = [30, 60]
operator_hour = 40.0
operators = 2
batch = [50, 80]
board_minutes = 1
feeder_minutes = 2.5
cart_minutes = [1.5, 4]
"""
REELS = "part number,parts per container\nW-32031,5000\nW-34030,2000\n"


def forms_beside() -> dict[str, Form]:
    """Return the forms whose undamaged file needs no other command."""
    beside = {"placements.csv": PLACEMENTS}
    board, library = _idf()
    check = ("check", FOLDER, "--line", LINE, "--quiet")
    read = ("read", FOLDER)
    several = ("survey", "{}", "--line", LINE, "--plan-seconds", "0")
    return {
        "mask": Form("mask.gbr", _mask().encode(), check, beside),
        "copper": Form("copper.gbr", _copper().encode(), check, beside),
        "netlist": Form("test.ipc", _netlist().encode(), read, beside),
        "ipc2581": Form("board.xml", _ipc2581().encode(), read, beside),
        "idf": Form("board.emn", board.encode(), read, {**beside, "board.emp": library.encode()}),
        "idf-library": Form("board.emp", library.encode(), read, {**beside, "board.emn": board.encode()}),
        "drills": Form("holes.drl", _holes().encode(), read, {**beside, "board.emn": board.encode()}),
        "drill-layer": Form("holes.gbr", _drill_layer().encode(), read, {**beside, "board.emn": board.encode()}),
        "ods": Form("p.ods", open_document(), ("read", "--placements", "{}")),
        "zip": Form("order.zip", _zip(), several),
        "tar": Form("order.tar", _tar(), several),
        "seven-zip": Form("order.7z", _seven_zip(), several),
        "plan-line": Form(
            "lines/l.line.toml",
            (FIXTURES / "lines" / "full.line.toml").read_bytes(),
            ("plan", STRIP, "--line", "{}", "--time-limit", "0.1"),
            {f"machines/{file.name}": file.read_bytes() for file in (FIXTURES / "machines").iterdir()},
        ),
        "plan-config": Form(
            "capcheck.toml",
            COSTS.encode(),
            ("plan", STRIP, "--line", LINE, "--config", "{}", "--time-limit", "0.1", "--hours-per-year", "2000"),
        ),
        "quantities": Form("year.csv", QUANTITIES.encode(), ("needs", STRIP, "--per-year", "{}")),
        "reels": Form("reels.csv", REELS.encode(), ("lists", "order", STRIP, "--boards", "500", "--reels", "{}")),
        "given-answers": Form(
            "answers.csv",
            ANSWERS_FILE.encode(),
            ("check", STRIP, "--config", "{folder}/capcheck.toml", "--quiet"),
            {"capcheck.toml": b'answers = "answers.csv"\n'},
        ),
        "diff-folder": Form("placements.csv", PLACEMENTS, ("diff", STRIP, FOLDER)),
    }


def forms_made() -> dict[str, Form]:
    """Return the forms whose undamaged file another command writes."""
    name, result = _kept()
    store = _store()
    filled = ("answers", "{}", "--board", DEMO, "--line", LINE, "--library", "{folder}/packages.csv")
    asked = ["check", DEMO, "--line", LINE, "--quiet", "--format"]
    with tempfile.TemporaryDirectory() as folder:
        (Path(folder) / "parts.db").write_bytes(store)
        listed = _made(["library", "export", "--store", str(Path(folder) / "parts.db"), "--output"], "packages.csv")
    library = {"packages.csv": b"part number,height [mm],note\n"}
    report = _made(["check", STRIP, "--format", "json", "--output"], "r.json")
    return {
        "answers": Form("back.csv", _made([*asked, "questions-csv", "--output"], "q.csv"), filled, library),
        "answers-xlsx": Form("back.xlsx", _made([*asked, "questions-xlsx", "--output"], "q.xlsx"), filled, library),
        "answers-text": Form("back.md", _made([*asked, "questions", "--output"], "q.md"), filled, library),
        "import": Form(
            "packages.csv",
            listed,
            ("library", "import", "{}", "--store", "{folder}/parts.db", "--preview", "--by", "Ada"),
            {"parts.db": store},
        ),
        "store": Form("parts.db", store, ("library", "export", "--store", "{}")),
        "store-in-use": Form("parts.db", store, ("check", DEMO, "--line", LINE, "--quiet", "--store", "{}")),
        "kept": Form(
            f"kept/{name}",
            result,
            ("survey", "{folder}/board", "--line", LINE, "--plan-seconds", "0", "--keep", "{folder}/kept"),
            {"board/placements.csv": PLACEMENTS},
        ),
        "diff": Form("old.json", report, ("diff", "{}", STRIP)),
        "baseline": Form("base.json", report, ("check", STRIP, "--baseline", "{}")),
    }
