"""Each row of a published table says where a reader can look it up, or honestly that it is from memory."""

import csv
import re
import tomllib
from pathlib import Path

import pytest

from capcheck.packages.tables.rows import DATA

REFERENCE = Path(__file__).parents[2] / "reference"

HONEST = re.compile(r"\bfrom memory\b|\bcommon practice, no source\b")
STANDARD = re.compile(
    r"\b(IPC-(TM-)?(A-)?\d{3,4}|SMEMA \d|EIA-\d{3}|EIAJ ED-\d{4}|IEC \d{5}|ISO \d{2,5}|JESD\d+|EDR-\d+|J-STD-\d{3}"
    r"|(MO|MS|TO|DO|SC)-\d{2,3})"
)
PLACE = re.compile(
    r"https?://\S+\.\w|\bdtsheet(\.com model)? \d{6}|\bstudylib \d{7,8}\b|\bpdf\.datasheet\.\w+ [0-9a-f]{8}\b"
    r"|\bpackage materials information [a-z0-9-]+_pm\.pdf\b|\bproduct specification of \d+ [A-Z][a-z]+ \d{4}, V\.\d"
    r"|\brules/guidelines\.csv number \d|\bWikipedia article [A-Z]"
)
FILE = re.compile(
    r"\b[Oo]pen footprint (generator \(commit [0-9a-f]{7}: [\w/.-]+\.\w+\)"
    r"|library \(commit [0-9a-f]{8} of [\d-]{10}\), \w)"
)
VAGUE = re.compile(
    r"\b(a|an|another|other) (\w+ )?makers?('s)?\b|\bmakers'|\b([Gg]enerator|[Ll]ibrary)\b|\bnot seen\b"
    r"|\b(board|customers') files\b|\b(as|is) quoted\b|\bpacking (tables?|documents?)\b(?! \d{5})|\bnewsroom\b"
)
NUMBER = re.compile(r"(?<![\w.-])(?=[\w./-]*\d)(?!\d{4}\b|\d+\.\d|\d+[x.-]*\d*mm\b)[A-Z\d][\w./-]{2,}")
"""A number of a document, a drawing or a device; years, sizes and codes of sizes are none."""
DOCUMENT = re.compile(
    r"\b(drawings?|data sheets?|specifications?|catalogues?|cards?|manuals?|(?<!dimension )tables?)\b"
)
"""What a part of a source claims to have read; each part says by itself what that is."""
PACKAGE = re.compile(r"(SOT-|SOIC|SOD|[A-Z]{0,3}SO[NPJ]|[A-Z]{0,3}(QFN|QFP|BGA|DFN|LGA)|PLCC|MELF|D2?PAK)-?\d[\w-]*$")
NOT_A_NAME = re.compile(
    r"^(SO\w*|TS\w*|SS\w*|MS\w*|[A-Z]{0,2}(QF|DF|BG|SO|QFN|QFP|BGA|DFN)[NPJA]?|DPAK|MELF|PLCC|SM[ABC]|LED|MLCC|SMD|RF|HV)$"
)


def names(source):
    """Return the words of a source that may be a maker's name."""
    found = re.findall(r"\b(?:onsemi|[A-ZÄÖÜ][A-Za-zÄÖÜäöü]*)", source)
    return [word for word in found if not NOT_A_NAME.match(word) and word not in ("Open", "Table", "Drawing", "A")]


def can_be_found(source):
    """Whether a source names a clause, a place, a file of a commit or a maker's numbered document, or that none is."""
    if HONEST.search(source) or FILE.search(source):
        return True
    if VAGUE.search(source) or any(DOCUMENT.search(part) and not _is_numbered(part) for part in source.split("; ")):
        return False
    return _is_numbered(source)


def _is_numbered(source):
    """Whether a source or a part of one names something by a number or a place."""
    if STANDARD.search(source) or PLACE.search(source):
        return True
    numbers = [found for found in NUMBER.findall(source) if not PACKAGE.match(found)]
    return bool(names(source)) and bool(numbers)


@pytest.mark.rows(
    "source",
    [
        "",
        " ",
        "datasheet",
        "a maker's drawing: VEED",
        "Royalohm",
        "a public library listing",
        "drawing cited by an open footprint library: Infineon",
        "open footprint library sot.yaml citing a drawing",
        "makers' dimension tables",
        "SOD-123 taping sheet",
        "another maker's data sheet of a SOT-23",
        "measured",
        "TI data sheet",
        "TI packing tables (DBV, DBZ)",
        "TI package materials information (packing tables)",
        "Vishay packing documents",
        "pair as quoted from IPC-7351B (tables not seen)",
        "IPC-7351B name in public board files",
        "open footprint generator (bga.yaml) citing Lattice doc 213",
        "open footprint generator (commit 0e158a0: sizes), citing TO-236",
        "JEDEC",
        "EIA table 2",
        "common practice",
        "Samsung MLCC catalogue",
        "Fair-Rite chip bead data sheet",
        "NXP SOT-23 drawing",
        "Taiyo Yuden catalogue of 2022 (dimensions)",
        "Yageo RC_L data sheet",
        "Littelfuse SMAJ data sheet",
        "KOA MCB ferrite chip beads, dimension table",
        "AVX tantalum taping table, January 2014",
        "TI package card 2011",
        "JEDEC MO-220; Renesas drawing",
        "JEDEC MS-018; Microsemi drawings; NXP SOT189-4",
        "JEDEC MO-220; Microchip packaging specification",
    ],
)
def test_a_source_that_nobody_could_look_up_is_noticed(source):
    assert not can_be_found(source)


@pytest.mark.rows(
    "source",
    [
        "IPC-7351B naming convention",
        "JEDEC MO-153 Var AB",
        "TI package materials information tlv4170_pm.pdf",
        "Vishay Beyschlag packaging document 28704",
        "NXP packages SOT1018-1",
        "Microchip C04-074",
        "Diodes 2N7002 data sheet (SOT-23)",
        "AVX LCWC wire wound chip inductors, dtsheet 196297",
        "open footprint generator (commit 0e158a0: sizes/lga.yaml) citing ST L3GD20",
        "from memory; TI packing tables",
        "common practice, no source",
    ],
)
def test_a_source_that_can_be_looked_up_or_says_that_there_is_none_is_let_pass(source):
    assert can_be_found(source)


def _unfindable(rows):
    # A row that means nothing states no figure, and its source says why.
    sources = {row["source"] or "" for row in rows if row.get("means") != "-"}
    return sorted(source for source in sources if not can_be_found(source))


@pytest.mark.rows("path", [*sorted(REFERENCE.parent.rglob("*.csv")), *sorted(DATA.glob("*.csv"))], ids=lambda p: p.stem)
def test_every_row_of_a_table_can_be_looked_up(path):
    with path.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert rows
    assert all(None not in row and None not in row.values() for row in rows)  # an unquoted comma moves the cells
    assert _unfindable(rows) == []


OPENED = re.compile(r"\b([a-z0-9-]+_pm\.pdf)(?: \(([^()]*)\))?")
DRAWING = re.compile(r"\b([A-Z]{1,3})\b((?: (?:and )?\d{1,2}\b)*)")


@pytest.mark.rows("path", [*sorted(REFERENCE.glob("*.csv")), *sorted(DATA.glob("*.csv"))], ids=lambda p: p.stem)
def test_package_materials_are_cited_only_where_they_were_opened(path):
    """Their addresses follow from a device's name, so that one nobody has opened looks just as good."""
    with (REFERENCE / "package_materials.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    opened = {OPENED.search(row["source"])[1]: set() for row in rows}
    for row in rows:
        opened[OPENED.search(row["source"])[1]] |= {row["drawing"], (row["drawing"], row["pins"])}
    for cited, codes in OPENED.findall(path.read_text(encoding="utf-8")):
        assert cited in opened
        for code, counts in DRAWING.findall(codes):
            assert not counts or {(code, count) for count in re.findall(r"\d+", counts)} <= opened[cited]
            assert code == "DPAK" or code in opened[cited], (cited, code)


@pytest.mark.parametrize("name", ["packing_tapes.csv", "more_tapes.csv"])
def test_a_tape_of_a_maker_s_document_is_the_one_that_stands_in_it(name):
    def key(source):
        return OPENED.search(source)[1]

    with (REFERENCE / "package_materials.csv").open(encoding="utf-8", newline="") as file:
        stated = {(key(r["source"]), r["drawing"], r["pins"]): r for r in csv.DictReader(file)}
    with (REFERENCE / name).open(encoding="utf-8", newline="") as file:
        rows = [row for row in csv.DictReader(file) if "_pm.pdf" in row["source"]]
    assert len(rows) >= 20
    for row in rows:
        drawing, pins = OPENED.search(row["source"])[2].split()
        there = stated[key(row["source"]), drawing, pins]
        assert (row["tape_width_mm"], row["pitch_mm"]) == (there["tape_width_mm"], there["pitch_mm"])


def test_every_code_of_the_second_reader_belongs_to_a_scheme_with_its_document():
    with (REFERENCE / "independent_part_codes.csv").open(encoding="utf-8", newline="") as file:
        tables = {row["table"] for row in csv.DictReader(file)}
    with (REFERENCE / "independent_part_schemes.csv").open(encoding="utf-8", newline="") as file:
        cited = {row[column] for row in csv.DictReader(file) for column in ("table", "heights")}
    assert tables - cited == set()


def test_what_the_second_reader_knows_from_memory_has_room():
    """A tenth of a millimetre across, at least, where a size of it would refute a body that the project proves."""
    with (REFERENCE / "independent_part_schemes.csv").open(encoding="utf-8", newline="") as file:
        rooms = [float(row["room_mm"]) for row in csv.DictReader(file) if "from memory" in row["source"]]
    assert min(rooms) >= 0.05  # common practice, no source


def _rows_with_sources(value):
    """Return what stands for a row in a TOML file: tables with a source, and the rows of CSV texts that have one."""
    if isinstance(value, str):
        lines = value.strip().splitlines()
        return list(csv.DictReader(lines)) if lines and "source" in lines[0].split(",") else []
    if isinstance(value, dict):
        own = [value] if isinstance(value.get("source"), str) else []
        return own + [row for inner in value.values() for row in _rows_with_sources(inner)]
    if isinstance(value, list):
        return [row for inner in value for row in _rows_with_sources(inner)]
    return []


def _figures(value):
    """Whether a TOML file states a length or another figure with a fraction, which must be from somewhere."""
    if isinstance(value, dict):
        return any(map(_figures, value.values()))
    if isinstance(value, list):
        return any(map(_figures, value))
    return isinstance(value, float)


@pytest.mark.rows("path", sorted(DATA.rglob("*.toml")), ids=lambda p: p.stem)
def test_every_table_of_a_data_file_can_be_looked_up(path):
    text = path.read_text(encoding="utf-8")
    data = tomllib.loads(text)
    rows = _rows_with_sources(data)
    assert _unfindable(rows) == []
    heading = "".join(line for line in text.splitlines() if line.startswith("#"))
    assert rows or HONEST.search(heading) or not _figures(data)


def test_every_scheme_and_every_family_of_connectors_has_a_source_of_its_own():
    for path in sorted((DATA / "part_numbers").glob("*.toml")):
        data = tomllib.loads(path.read_text(encoding="utf-8"))
        assert all(entry.get("source") for entry in (*data.get("schemes", ()), *data.get("families", ()))), path.name
    connectors = tomllib.loads((DATA / "connectors.toml").read_text(encoding="utf-8"))
    assert all(family.get("source") for family in connectors["family"])


@pytest.mark.parametrize("path", sorted(REFERENCE.glob("*.json")), ids=lambda p: p.stem)
def test_a_reference_file_of_another_form_names_its_source(path):
    text = path.read_text(encoding="utf-8")
    assert re.search(r'"(source|\$id|id)":\s*"\S', text)


@pytest.mark.rows("path", sorted((DATA.parents[1] / "lexicon" / "sentences").glob("*.toml")), ids=lambda p: p.stem)
def test_no_sentence_that_people_read_names_a_source_that_nobody_could_find(path):
    nameless = re.compile(
        r"\b(?:another maker|makers?)'s? (?:\w+ )?(?:tables?|data ?sheets?|drawings?(?! code)|notes?)\b"
    )
    assert nameless.findall(path.read_text(encoding="utf-8")) == []


CITED = re.compile(
    r"\b(?:IPC-(?:TM-)?(?:[AD]-|NC-)?\d{3,4}|SMEMA \d\.\d|EIA-(?:481|535)|IEC \d{5}(?:-\d)?|ISO \d{2,5}\b"
    r"|JESD\d+(?:-B\d+)?|EDR-\d+|ECMA-\d+|J-STD-\d+|IEEE \d+|RFC \d+|DIN \d+)|\[MS-[A-Z]+\]"
)


def test_each_standard_that_is_cited_is_listed_with_its_edition_or_that_it_is_not_known():
    with (REFERENCE / "standards.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    listed = {row["standard"] for row in rows}
    assert all(re.search(r"\b(19|20)\d\d\b|\bnot known$", row["edition"]) for row in rows)
    root = REFERENCE.parents[1]
    files = [path for folder in ("capcheck", "tests", "rules") for path in (root / folder).rglob("*")]
    texts = [p.read_text(encoding="utf-8") for p in files if p.suffix in {".py", ".csv", ".toml"} and p.is_file()]
    cited = {name for text in texts for name in CITED.findall(text)}
    assert cited - listed == set()
    assert listed - cited == {"JEP95"}  # outlines are cited by their own numbers


def test_each_open_collection_is_cited_by_a_commit_that_the_notes_for_developers_describe():
    notes = (REFERENCE.parents[1] / "DEVELOPERS.md").read_text(encoding="utf-8")
    files = [*REFERENCE.parent.rglob("*.csv"), *DATA.rglob("*.csv"), *DATA.rglob("*.toml")]
    texts = [path.read_text(encoding="utf-8") for path in files]
    commits = {commit for text in texts for commit in re.findall(r"\bcommit ([0-9a-f]{7,40})(?!\w|: scripts/)", text)}
    assert commits
    assert {commit for commit in commits if commit not in notes} == set()
    assert not any(re.search(r"\b(public|open)( [\w-]+)? library\b(?! (\(|of )commit)", text) for text in texts)
    assert not any(re.search(r"\bgenerator\b(?! \(commit)", text) for text in texts)
    assert "*The open footprint generator*" in " ".join(notes.split())
