"""Each statement of a room has its sentence, and no sentence is left that the room never says."""

import re
from pathlib import Path

import pytest

import capcheck
from capcheck.lexicon.wording import templates

PACKAGE = Path(capcheck.__file__).parent


@pytest.mark.parametrize(
    ("theme", "room"), [("frame", "intake/frame"), ("geometry", "geometry"), ("outline", "intake/outline")]
)
def test_statements_and_sentences_are_the_same(theme, room):
    code = "\n".join(path.read_text(encoding="utf-8") for path in (PACKAGE / room).rglob("*.py"))
    assert set(re.findall(rf'"{theme}\.([^"]+)"', code)) == set(templates(theme))
