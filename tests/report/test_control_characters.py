"""No format hands a terminal, a viewer or a spreadsheet what a customer's cell would have it do."""

import json
import re
from xml.etree import ElementTree as ET

import pytest

from capcheck.checking import check
from capcheck.report import format_names, load_format

SPITE = "\x1b[31mR\x07\x9b2J\u202eabc\u2066x\x7f\x85"
OBEYED = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069\ud800-\udfff]")


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    made = tmp_path_factory.mktemp("spite")
    rows = [f"U1,10,10,0,top,{SPITE},f", "U2,30,10,0,top,=cmd|'/c calc'!A1,+f", "U3\x1b[2J,50,10,0,top,-x,@f"]
    # Bytes of control are few in a text, or it is taken for none.
    rows += [f"R{n},{n},60,0,top,10k,RES-0402-1005M" for n in range(1, 100)]
    (made / "placements.csv").write_text("Ref,X [mm],Y [mm],Rotation,Side,Value,Footprint\n" + "\n".join(rows))
    lines = [f"U1,{SPITE}PN,-", "U2,=1+1,+1\u202e", "U9,x\x1b]0;y\x07,-", *(f"R{n},P-{n},10k" for n in range(1, 100))]
    (made / "bom.csv").write_text("Refs,Part number,Description\n" + "\n".join(lines))
    return made


@pytest.fixture(scope="module")
def report(folder, shop):
    return check(folder, line=shop / "lines" / "mixed.line.toml")


def text_of(content):
    if isinstance(content, str):
        return content
    import io
    import zipfile

    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        # A picture is no text: a program that draws it obeys nothing in it.
        return "".join(archive.read(name).decode() for name in archive.namelist() if not name.endswith(".png"))


@pytest.mark.rows("kind", format_names())
def test_no_format_of_a_report_carries_a_command(report, kind):
    content = text_of(load_format(kind).render(report))
    assert not OBEYED.findall(content)
    if kind in {"json", "sarif"}:
        assert json.loads(content)
    if kind == "junit":
        assert ET.fromstring(content).tag == "testsuites"  # noqa: S314 - our own document


@pytest.mark.parametrize("command", ["read", "plan", "compare"])
@pytest.mark.parametrize("kind", ["text", "json", "csv", "svg"])
def test_no_command_prints_one(folder, shop, run, command, kind):
    lines = [] if command == "read" else ["--line", str(shop / "lines" / "mixed.line.toml")]
    if command == "compare":
        lines += ["--line", str(shop / "lines" / "full.line.toml")]
    _, out, err = run(command, folder, "--format", kind, *lines)
    assert not OBEYED.findall(out + err)


def test_json_gives_the_text_back_as_it_was(folder, run):
    parts = json.loads(run("read", folder, "--format", "json")[1])["parts"]
    assert any("\u202eabc" in (part["value"] or "") for part in parts)
