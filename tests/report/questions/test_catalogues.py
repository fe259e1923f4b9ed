"""Each language says all, with values that are there; a made-up language finds what is said outside the catalogues.

Figures: invented, or the digits of the text; an inch is 25.4 mm by definition.
"""

import ast
import html
import io
import re
import zipfile
from pathlib import Path

import msgspec
import pytest
import tomli

import capcheck
from capcheck.checking import check
from capcheck.lexicon import catalogue as catalogues, cautions, customers_language, sentence, template_fields
from capcheck.lexicon.catalogue import Catalogue, customers_catalogue
from capcheck.lexicon.wording import templates
from capcheck.model import say
from capcheck.report import customers_languages, format_names, load_format
from capcheck.report.questions import questions
from capcheck.report.questions.question_types import NOBODY, question_types

LANGUAGES = customers_languages()
PACKAGE = Path(capcheck.__file__).parent
KINDS = question_types()
ALWAYS = {"n", "kinds", "sides", "refs"}
"""Values of every question."""
OF_PANEL = {"rail", "panel_length", "panel_width"}
COMPOSED = {"chosen", "other", "file"}
"""Values that are made of a record, whatever its sentence."""


def spoken(language):
    with customers_language(language):
        return customers_catalogue()


def names(template):
    fields = [(name, how) for _, name, how in template_fields(template) if name is not None]
    return {name for name, how in fields} | {inner for _, how in fields for inner in names(how)}


def said_in_code():
    """The names of the values with which each sentence is said, where its key stands as it is."""
    found = {}
    for path in PACKAGE.rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and getattr(node.func, "id", "") == "say" and node.args:
                key = node.args[0]
                if isinstance(key, ast.Constant):
                    found.setdefault(key.value, []).append({k.arg for k in node.keywords})
    return found


def test_english_german_and_japanese_are_there():
    assert {"en", "de", "ja"} <= set(LANGUAGES)


@pytest.mark.rows("language", LANGUAGES)
def test_a_language_says_all_that_english_says(language):
    own, english = spoken(language), spoken("en")
    assert set(own.questions) == set(english.questions) == set(KINDS.types)
    for part in ("paper", "words", "phrases"):
        assert set(getattr(own, part)) == set(getattr(english, part))
    for kind, wording in own.questions.items():
        assert len(wording.boxes) == len(english.questions[kind].boxes), kind


@pytest.mark.rows("language", [name for name in LANGUAGES if name != "en"])
def test_no_sentence_is_left_in_english(language):
    own, english = spoken(language), spoken("en")
    for kind, wording in own.questions.items():
        assert wording.ask != english.questions[kind].ask
        assert wording.otherwise != english.questions[kind].otherwise


@pytest.mark.rows("language", LANGUAGES)
@pytest.mark.rows("kind", KINDS.types)
def test_a_question_names_only_values_that_make_it_one_of_its_own(language, kind):
    # All else is gathered from several records, of which one value would stand for all.
    wording = spoken(language).questions[kind]
    # What a shop has a habit of is one for the board.
    allowed = (
        ALWAYS
        | set(KINDS.types[kind].by)
        | set(KINDS.types[kind].usual)
        | (OF_PANEL if kind.endswith("from-us") else set())
    )
    for template in (wording.ask, wording.otherwise, *wording.boxes):
        assert names(template) <= allowed, template
    assert not {name for name in names(wording.ask) if name == "other" or name.startswith("other_")}


@pytest.mark.rows("language", LANGUAGES)
@pytest.mark.rows("number", [1, 5])
def test_every_question_can_be_put(language, number):
    own = spoken(language)
    for kind, wording in own.questions.items():
        values = dict.fromkeys(KINDS.types[kind].by, "W-1") | dict.fromkeys(OF_PANEL, 5.0)
        values |= {**KINDS.types[kind].usual, "n": number, "kinds": number, "sides": ["top"], "refs": ["R1"]}
        for template in (wording.ask, wording.otherwise, *wording.boxes):
            assert not re.search("[{}|]", own.filled(template, values)), template


def test_what_makes_a_question_its_own_is_said_by_all_that_raise_it():
    said = said_in_code()
    for key, kind in KINDS.said.items():
        if kind == NOBODY:
            continue
        theme, _, own = key.partition(".")
        inside = {inner for name in names(templates(theme)[own]) for inner in ({name} | {"x", "y"})}
        needed = {name for name in KINDS.types[kind].by if not name.startswith("other")} - COMPOSED
        for given in said.get(key, [inside]):
            assert needed <= given | inside, key


@pytest.mark.rows("language", LANGUAGES)
def test_a_phrase_names_only_values_of_its_statement(language):
    for key, phrase in spoken(language).phrases.items():
        theme, _, own = key.partition(".")
        if theme != "missing":
            assert names(phrase) <= names(templates(theme)[own]), key


def test_the_cautions_are_of_those_of_all_papers_what_a_customer_acts_on():
    for piece in re.findall(r"[^.;]+", spoken("en").paper["cautions"]):
        assert piece.strip().casefold() in cautions().casefold()


def test_numbers_take_the_languages_mark_and_plurals_its_forms():
    template = "{x:.4g} mm, {n:?one part|{n} parts}"
    english, german, japanese = map(spoken, ("en", "de", "ja"))
    assert english.filled(template, {"x": 22.9, "n": 1}) == "22.9 mm, one part"
    assert german.filled(template, {"x": 22.9, "n": 0}) == "22,9 mm, 0 parts"
    assert japanese.filled("{n:?{n} 点}", {"n": 1}) == "1 点"
    assert japanese.filled("{refs}", {"refs": ("R1", "R2")}) == "R1、R2"


def test_a_statement_within_a_question_is_put_in_the_language():
    meanings = [say("placements.means", label="0", side="top"), say("placements.means", label="1", side="bottom")]
    ask = {name: spoken(name).filled("{meanings:said}", {"meanings": meanings}) for name in ("en", "de")}
    assert ask == {"en": "0 = top, 1 = bottom", "de": "0 = oben, 1 = unten"}


WIDE = str.maketrans({chr(c): chr(c + 0xFEE0) for c in (*range(0x41, 0x5B), *range(0x61, 0x7B))})
"""Letters to their full-width forms: what a made-up language says has no plain letter."""


def pseudo(template):
    """Return a template in the made-up language: its texts are changed, the names of its values are not."""
    out = ""
    for text, name, how in template_fields(template):
        out += text.translate(WIDE)
        if name is not None:
            told = "?" + "|".join(pseudo(form) for form in how[1:].split("|")) if how.startswith("?") else how
            out += f"{{{name}:{told}}}" if told else f"{{{name}}}"
    return out


def in_pseudo(value):
    if isinstance(value, dict):
        return {key: in_pseudo(own) for key, own in value.items()}
    return pseudo(value) if isinstance(value, str) else [in_pseudo(own) for own in value]


@pytest.fixture
def made_up(monkeypatch):
    data = tomli.loads((PACKAGE / "lexicon" / "questions" / "en.toml").read_text(encoding="utf-8"))
    parts = {part: in_pseudo(data[part]) for part in ("paper", "words", "phrases", "questions")}
    made = msgspec.convert(data | parts, Catalogue)
    monkeypatch.setattr(catalogues, "_catalogue", lambda _: made)


CONFUSED = """\
Ref,X,Y,Pad X,Pad Y,Rotation,Layer,Value,Footprint
R1,10,10,9.2,10,0,top,10k,0603
R2,14,10,13.2,10,0,top,10k,0603
R3,18,10,17.2,10,0,top,10k,0603
R4,18,10,17.2,10,0,top,10k,0603
U1,30,20,28.1,21.9,90,top,W-7,QFN16
J1,79.5,30,79.5,31,0,top,W-9,CONN
C1,abc,12,13,12,0,top,1u,0402
C2,22,12,23,12,x,top,NC,0402
"""
LIST = """\
Designator,Qty,Part number,Value,Fitted,Packaging
R1,1,W-1,12k,yes,loose
"R2,R3",3,1.2E+05,10k,?,tape
U1,1,W-7,,,
C1 C2,2,cap 100n,1u,yes,
,4,screw,,,
"""


FOR_CUSTOMERS = sorted(name for name in format_names() if name.startswith("questions") or name == "mail")
SHOWN = (
    r"<t(?: [^>]*)?>([^<]*)</t>",
    r'<sheet name="([^"]*)"',
    r'(?:prompt|promptTitle|error|errorTitle|descr)="([^"]*)"',
    r"<formula1>([^<]*)</formula1>",
    r"<odd(?:Header|Footer)>([^<]*)<",
    r"<dc:[a-z]+>([^<]*)<",
)
"""Where a workbook (ECMA-376 Part 1) keeps what a reader sees: cells, sheets, hints, texts of pictures, margins."""


def seen(rendered):
    """Return what a customer sees of a list: a text as it is, of a workbook the texts of all its parts."""
    if isinstance(rendered, str):
        return rendered
    with zipfile.ZipFile(io.BytesIO(rendered)) as book:
        parts = [book.read(name).decode() for name in book.namelist() if name.endswith(".xml")]
    return "\n".join(html.unescape(text) for part in parts for shape in SHOWN for text in re.findall(shape, part))


@pytest.fixture(params=["irrigation-controller", "flow-sensor", "light-strip", "confused"])
def folder(request, shop, tmp_path):
    if request.param != "confused":
        return shop / request.param
    (tmp_path / "placements.csv").write_text(CONFUSED, encoding="utf-8")
    (tmp_path / "bom.csv").write_text(LIST, encoding="utf-8")
    return tmp_path


@pytest.mark.usefixtures("made_up")
@pytest.mark.parametrize("form", FOR_CUSTOMERS)
def test_nothing_is_said_outside_the_catalogue(folder, shop, form):
    report = check(folder, line=shop / "lines" / "full.line.toml")
    asked = questions(report)
    assert asked
    text = seen(load_format(form).render(report))
    keys = [text for q in asked for one in (q, *q.rows) for text in (one.key, one.asked)]
    for key in sorted(keys, key=len, reverse=True):
        text = text.replace(key, "")
    own = {word for path in folder.iterdir() for word in re.findall("[A-Za-z]+", path.name)}
    for path in folder.iterdir():
        own |= set(re.findall("[A-Za-z]+", path.read_text(encoding="utf-8")))
    units = {"mm", "mil", "inch"}
    own |= set(re.findall("[A-Za-z]+", report.board.name)) | units
    assert set(re.findall("[A-Za-z]{2,}", text)) - own == set()


@pytest.mark.parametrize(("language", "shown"), [("en", "−81.20 mm"), ("de", "−81,20 mm"), ("ja", "−81.20 mm")])
def test_a_number_below_zero_has_a_minus_sign_and_the_mark_of_its_language(language, shown):
    assert spoken(language).filled("{dy:.2f} mm", {"dy": -81.2}) == shown
    assert sentence(say("frame.other shift", dx=1.0, dy=-81.2, share=1.0)).startswith("shift 1.00, −81.20 mm")


@pytest.mark.rows("language", LANGUAGES)
def test_a_colour_is_told_by_its_rows_and_not_by_the_code_of_a_program(language):
    assert names(spoken(language).questions["coloured-rows"].ask) == {"rows"}
