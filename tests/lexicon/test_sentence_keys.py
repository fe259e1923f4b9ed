"""Each statement has its sentence, and no sentence is left that nobody says."""

import re
from pathlib import Path

import pytest

import capcheck
from capcheck.lexicon.wording import sentence, templates
from capcheck.model import say

PACKAGE = Path(capcheck.__file__).parent
CODE = "\n".join(path.read_text(encoding="utf-8") for path in PACKAGE.rglob("*.py"))
THEMES = sorted(path.stem for path in (PACKAGE / "lexicon" / "sentences").glob("*.toml"))
COMPOSED = ("checking.no ", "packages.")
"""Keys of which a part is the name of an input or a family stand nowhere whole."""


@pytest.mark.parametrize("theme", THEMES)
def test_what_is_said_has_its_sentence(theme):
    said = set(re.findall(rf'say\(\s*"{theme}\.([^"]+)"', CODE))
    assert said <= set(templates(theme))


@pytest.mark.parametrize("theme", THEMES)
def test_no_sentence_is_left_that_nobody_says(theme):
    keys = {f"{theme}.{key}" for key in templates(theme)}
    assert {key for key in keys if f'"{key}"' not in CODE and not key.startswith(COMPOSED)} == set()


def test_references_that_stand_beside_a_sentence_do_not_begin_it():
    said = say("compare.where", refs=("R1", "R2"))
    assert sentence(said) == "R1, R2: where on the board?"
    assert sentence(said, beside_refs=True) == "where on the board?"
    within = say("compare.damaged number", refs=("R1",), text="1E5", damage=say("compare.exponent"))
    assert sentence(within, beside_refs=True) == sentence(within)
