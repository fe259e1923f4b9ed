"""Damaged input for every reader: `python tests/fuzz/damaged_input.py [--seconds 60] [--seed 1] [--form dxf]`.

Each case runs a command in this process and must end with exit code 0, 1 or 2, without traceback, within two seconds.
What fails is printed with its seed and kept under build/fuzz/.
"""

from __future__ import annotations

import argparse
import contextlib
import io
import random
import re
import resource
import shutil
import sys
import tempfile
import time
import traceback
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

from forms_beside import Form, forms_beside, forms_made
from mutation import mutated_within

ROOT = Path(__file__).resolve().parents[2]
FIXTURES = ROOT / "fixtures"
LIMIT_S = 2.0

PLACEMENTS = "Ref,X [mm],Y [mm],Rotation,Side,Value,Footprint\n" + "".join(
    f"{'RCU'[n % 3]}{n},{n * 3.5 % 80:.2f},{n * 2.25 % 50:.2f},{n % 4 * 90},{'top' if n % 5 else 'bottom'},10k,{f}\n"
    for n, f in enumerate(("R0402", "C0603", "SOIC-8", "QFN-16_3x3", "CAPC1608X90N") * 4, 1)
)

CONFIGURATION = """
strict = true
ignore = ["size"]
product_class = 2
stencil_thickness = "0.12 mm"

[limits]
fiducial-count.least = 3

[assumed]
thickness = "1.6 mm"

[panel]
rail = "5 mm"

[losses]
0402 = { share = 0.02, least = 5 }

[costs]
currency = "EUR"
machine_hour = [30, 60]
operator_hour = 40.0
batch = 50
feeder_minutes = 2.5

[customers.Lagoon]
boards = ["light-strip"]
strict = false

[boards."light-strip"]
units = "mil"

[[waiver]]
rule = "part-*"
margin = "-2 mm"
reason = "seen"
who = "A"
until = 2030-01-01
"""


def _as_project(configuration: str) -> str:
    """Return a configuration as a table of pyproject.toml."""
    tables = re.sub(r"(?m)^(\[\[?)", r"\1tool.capcheck.", configuration)
    return f"[tool.capcheck]{tables}"


def workbook() -> bytes:
    """Return the placements as a workbook."""
    import xlsxwriter

    out = io.BytesIO()
    with xlsxwriter.Workbook(out, {"in_memory": True}) as book:
        sheet = book.add_worksheet("parts")
        for row, line in enumerate(PLACEMENTS.splitlines()):
            sheet.write_row(row, 0, line.split(","))
    return out.getvalue()


def forms() -> dict[str, Form]:
    """Return the forms of a board's own files, and of what it is checked with."""
    tabs = PLACEMENTS.replace(",", "\t")
    widths = "\n".join("".join(f"{cell:<14}" for cell in line.split(",")) for line in PLACEMENTS.splitlines())
    rows = "".join(
        "<tr>" + "".join(f"<td>{c}</td>" for c in line.split(",")) + "</tr>" for line in PLACEMENTS.splitlines()
    )
    xml = (
        '<?xml version="1.0"?><Workbook xmlns="urn:schemas-microsoft-com:office:spreadsheet" '
        'xmlns:ss="urn:schemas-microsoft-com:office:spreadsheet"><Worksheet ss:Name="p"><Table>'
        + "".join(
            "<Row>" + "".join(f'<Cell><Data ss:Type="String">{c}</Data></Cell>' for c in line.split(",")) + "</Row>"
            for line in PLACEMENTS.splitlines()
        )
        + "</Table></Worksheet></Workbook>"
    )
    gerber = (
        "%FSLAX46Y46*%\n%MOMM*%\n%TF.FileFunction,Profile,NP*%\n%ADD10C,0.1*%\nD10*\nX0Y0D02*\nX80000000D01*\n"
        "Y50000000D01*\nX0D01*\nY0D01*\nM02*\n"
    )
    bom = (
        "Designator,Quantity,Value,Part number,Description\n"
        "R1 R4 R7,3,10k,PN-1,chip 0402\nC2-C5,2,100n,PN-2,DNP\nU3,1,,PN-3,SOIC-8\n"
    )
    read = ("read", "--placements", "{}")
    check = ("check", str(FIXTURES / "light-strip"))
    return {
        "csv": Form("p.csv", PLACEMENTS.encode(), read),
        "tsv": Form("p.txt", tabs.encode("utf-16"), read),
        "fixed": Form("p.pos", widths.encode(), read),
        "html": Form("p.xls", f"<html><table>{rows}</table></html>".encode(), read),
        "xml": Form("p.xml", xml.encode(), read),
        "xlsx": Form("p.xlsx", workbook(), read),
        "bom": Form(
            "b.csv",
            bom.encode(),
            ("read", "--placements", str(FIXTURES / "light-strip" / "placements.csv"), "--bom", "{}"),
        ),
        "dxf": Form(
            "o.dxf",
            (FIXTURES / "irrigation-controller" / "outline.dxf").read_bytes(),
            ("read", "--outline", "{}"),
        ),
        "gerber": Form("o.gbr", gerber.encode(), ("read", "--outline", "{}")),
        "board": Form("board.toml", (FIXTURES / "irrigation-controller" / "board.toml").read_bytes(), ("read", "{}")),
        "machine": Form(
            "m.machine.toml",
            (FIXTURES / "machines" / "all-round-placer.machine.toml").read_bytes(),
            (*check, "--machine", "{}"),
        ),
        "line": Form(
            "lines/l.line.toml",
            (FIXTURES / "lines" / "mixed.line.toml").read_bytes(),
            (*check, "--line", "{}"),
            {f"machines/{file.name}": file.read_bytes() for file in (FIXTURES / "machines").iterdir()},
        ),
        "rules": Form("r.toml", (FIXTURES / "rules" / "shop.toml").read_bytes(), ("test", "{}")),
        "library": Form(
            "lib.csv", (FIXTURES / "packages" / "shop-parts.csv").read_bytes(), (*check, "--library", "{}")
        ),
        "config": Form("capcheck.toml", CONFIGURATION.encode(), (*check, "--config", "{}")),
        "pyproject": Form("pyproject.toml", _as_project(CONFIGURATION).encode(), (*check, "--config", "{}")),
    }


def cases(form: str, seed: int) -> Iterator[tuple[int, bytes]]:
    """Return the damaged copies of a form, without end, each with its own seed."""
    whole = FORMS[form].data
    for number in range(seed, sys.maxsize):
        rng = random.Random(f"{form} {number}")
        yield number, mutated_within(whole, rng)


class End(NamedTuple):
    """How a command ended: its exit code (None where an exception escaped it), what it wrote, and seconds of work."""

    code: int | None
    out: str
    err: str
    took_s: float


def ended(form: str, data: bytes, folder: Path) -> End:
    """Run the command of a form on *data*, in a folder made anew."""
    from capcheck.cli import main

    name, _, command, beside = FORMS[form]
    shutil.rmtree(folder, ignore_errors=True)
    if form == "board":
        shutil.copytree(FIXTURES / "irrigation-controller", folder)
    for path, content in {**beside, name: data}.items():
        (folder / path).parent.mkdir(parents=True, exist_ok=True)
        (folder / path).write_bytes(content)
    arguments = [str(folder / name) if a == "{}" else a.replace("{folder}", str(folder)) for a in command]
    out, err = io.StringIO(), io.StringIO()
    began = time.process_time()
    try:
        with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
            code: int | None = main(arguments)
    except BaseException:  # noqa: BLE001  whatever escapes is what is looked for
        return End(None, out.getvalue(), traceback.format_exc(), time.process_time() - began)
    return End(code, out.getvalue(), err.getvalue(), time.process_time() - began)


def answer(form: str, data: bytes, folder: Path) -> str:
    """Run the command on one damaged file; return what is wrong with its end, or an empty text."""
    code, _, err, took = ended(form, data, folder)
    if code is None or "not foreseen" in err or "Traceback" in err:
        return err  # what was not foreseen is told with exit code 2, but a reader should have known it
    if code not in {0, 1, 2}:
        return f"exit code {code}"
    if code == 1 and FORMS[form].command[0] in {"read", "test"} and form != "rules":
        return f"exit code 1 of {FORMS[form].command[0]}"
    if code == 2 and not err.strip():
        return "exit code 2 without a word"
    return f"took {took:.1f} s" if took > LIMIT_S else ""


def fuzz(form: str, seed: int, seconds: float, keep: Path | None = None) -> tuple[int, dict[str, int]]:
    """Run cases of one form for some seconds; return how many, and what failed with the seed of its first case."""
    failed: dict[str, int] = {}
    count = 0
    end = time.monotonic() + seconds
    with tempfile.TemporaryDirectory() as folder:
        for number, data in cases(form, seed):
            wrong = answer(form, data, Path(folder) / "board")
            count += 1
            if wrong:
                what = wrong.strip().splitlines()
                own = [line.strip() for line in what if "/capcheck/" in line]
                key = re.sub(r"\d+", "#", " | ".join([*own[-1:], what[-1][:120]]))
                if key not in failed and keep is not None:
                    keep.mkdir(parents=True, exist_ok=True)
                    (keep / f"{form}-{number}-{Path(FORMS[form].name).name}").write_bytes(data)
                failed.setdefault(key, number)
            if time.monotonic() > end:
                return count, failed
    return count, failed


def prepare() -> None:
    """Fill in the forms that other commands make."""
    FORMS.update(forms_made())


FORMS = {**forms(), **forms_beside()}

if __name__ == "__main__":
    parser = argparse.ArgumentParser()
    parser.add_argument("--seconds", type=float, default=60.0)
    parser.add_argument("--seed", type=int, default=1)
    prepare()
    parser.add_argument("--form", action="append", choices=FORMS)
    chosen = parser.parse_args()
    total: Counter[str] = Counter()
    for form in chosen.form or FORMS:
        n, wrong = fuzz(form, chosen.seed, chosen.seconds / len(chosen.form or FORMS), ROOT / "build" / "fuzz")
        total.update(cases=n, failures=len(wrong))
        print(f"{form:13} {n:7} cases, {len(wrong)} kinds of failure")
        for key, number in wrong.items():
            print(f"           seed {number}: {key}")
    print(f"{total['cases']} cases, {total['failures']} kinds of failure")
    own, readers = (resource.getrusage(who).ru_maxrss >> 10 for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN))
    print(f"most memory: {own} MB, of a reading process that ended {readers} MB")
    sys.exit(bool(total["failures"]))
