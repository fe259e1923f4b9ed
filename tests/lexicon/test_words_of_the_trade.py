"""What the program says of boards, panels and fiducials is said in the trade's words, wherever it is said.

Figures: none.
"""

import re
from pathlib import Path

import capcheck
from capcheck.engine import load_rules, rule_files, shipped_rules
from capcheck.facts import FACTS
from capcheck.lexicon.wording import templates

NOT_SAID = re.compile(
    r"\bline of parting|\bparted\b|break-off rails?\b|\bcircuits?\b|\bmarks?\b|\btransported edge"
    r"|leads through holes|\bin sticks\b|hangs on|want of data|\bis no list|are no angles"
)
"""Words of the program's own files and code; a customer's text, such as a mark of a footnote, is another matter."""


def test_a_fact_s_help_and_a_rule_s_texts_are_in_the_trade_s_words():
    texts = {f"fact {fact.name}": fact.help for fact in FACTS}
    for rule in load_rules(rule_files([shipped_rules()]), FACTS):
        texts |= {f"{rule.id} {part}": getattr(rule, part) for part in ("title", "why", "remedy")}
    found = {where: told[0] for where, text in texts.items() if (told := NOT_SAID.search(text))}
    assert found == {}


def test_sentences_of_the_board_are_in_the_trade_s_words():
    themes = Path(capcheck.__file__).parent / "lexicon" / "sentences"
    every = {f"{file.stem}.{key}": text for file in themes.glob("*.toml") for key, text in templates(file.stem).items()}
    plain = {key: re.sub(r"\{[^{}]*\}", "", text) for key, text in every.items()}
    words = re.compile(r"\bcircuits?\b|line of parting|want of data|hangs on")
    assert {key: told[0] for key, text in plain.items() if (told := words.search(text))} == {}
