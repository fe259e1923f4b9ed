"""Each statement has its sentence, and no sentence is left that nobody says."""

import re
from pathlib import Path

import pytest

import capcheck
from capcheck.lexicon.wording import templates

CODE = "\n".join(p.read_text(encoding="utf-8") for p in Path(capcheck.__file__).parent.rglob("*.py"))


@pytest.mark.parametrize("theme", ["frame", "geometry", "outline"])
def test_statements_and_sentences_are_the_same(theme):
    assert set(re.findall(rf'"{theme}\.([^"]+)"', CODE)) == set(templates(theme))
