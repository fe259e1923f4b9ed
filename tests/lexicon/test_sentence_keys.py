"""Each statement has its sentence, and no sentence is left that nobody says."""

import re
from pathlib import Path

import pytest

import capcheck
from capcheck.lexicon.wording import in_short, sentence, templates
from capcheck.model import NOTHING, Decision, Topic, say

PACKAGE = Path(capcheck.__file__).parent
CODE = "\n".join(path.read_text(encoding="utf-8") for path in PACKAGE.rglob("*.py"))
THEMES = sorted(path.stem for path in (PACKAGE / "lexicon" / "sentences").glob("*.toml"))
COMPOSED = ("checking.no ", "lands.told as ", "packages.")
"""Keys of which a part is the name of an input, a layer or a family stand nowhere whole."""


@pytest.mark.rows("theme", THEMES)
def test_what_is_said_has_its_sentence(theme):
    said = set(re.findall(rf'say\(\s*"{theme}\.([^"]+)"', CODE))
    assert said <= set(templates(theme))


@pytest.mark.rows("theme", THEMES)
def test_no_sentence_is_left_that_nobody_says(theme):
    keys = {f"{theme}.{key.removesuffix(', in short')}" for key in templates(theme)}
    assert {key for key in keys if f'"{key}"' not in CODE and not key.startswith(COMPOSED)} == set()


def test_a_disagreement_is_told_beside_its_references_or_its_title():
    # Reports and rules put them in front; a template of its own that names them would say them twice.
    assert not [text for text in templates("compare").values() if text.startswith("{refs:refs}: ")]
    decision = Decision(Topic.UNIT, "mm", "the header says so", runner_up="inch", settle='units = "mm"', open=True)
    told = sentence(say("compare.open decision", decision=decision))
    assert told == 'mm (the header says so); next best: inch; please confirm, or set units = "mm"'


def test_a_statement_that_holds_no_statement_is_told_in_short_all_the_same():
    # A row of the shop's library has no scheme; where a column contradicts it, the first screen tells both in short.
    said = say("packages.origin in library", text="parts.csv:2", scheme=NOTHING, column=None)
    assert sentence(in_short(said)) == sentence(said) == "shop library parts.csv:2"
