"""Patterns that are compiled at first use behave as compiled ones, and each of ours can be compiled.

Figures: invented; sums worked by hand.
"""

import importlib
import pkgutil
import re

import pytest

import capcheck
from capcheck.values.patterns import _Pattern, pattern

MODULES = [m.name for m in pkgutil.walk_packages(capcheck.__path__, "capcheck.") if not m.name.endswith("__main__")]


def ours():
    """Return all patterns at the top of modules, by name."""
    for module in MODULES:
        for name, value in vars(importlib.import_module(module)).items():
            if isinstance(value, _Pattern):
                yield f"{module}.{name}", value


def test_every_pattern_can_be_compiled():
    found = dict(ours())
    assert len(found) > 100
    for name, value in found.items():
        assert isinstance(value.pattern, (str, bytes)), name


def test_it_answers_as_the_compiled_pattern_does():
    late, compiled = pattern(r"(?P<n>\d+)-?"), re.compile(r"(?P<n>\d+)-?")
    for text in ("12-3", "x", "", "a1b22-"):
        for method in ("match", "fullmatch", "search"):
            found, expected = getattr(late, method)(text), getattr(compiled, method)(text)
            assert (found and found.groupdict()) == (expected and expected.groupdict())
        assert late.findall(text) == compiled.findall(text)
        assert late.split(text) == compiled.split(text)
        assert late.sub("#", text) == compiled.sub("#", text)
    assert late.pattern == compiled.pattern
    assert late.groups == compiled.groups


def test_flags_count():
    assert pattern("é", re.IGNORECASE).fullmatch("É")
    assert not pattern("é").fullmatch("É")


def test_it_is_compiled_once(monkeypatch):
    compiled = []
    original = re.compile
    monkeypatch.setattr(re, "compile", lambda *a: compiled.append(a) or original(*a))
    late = pattern("only-here")
    assert compiled == []
    assert late.match("only-here")
    assert late.search("not only-here")
    assert len(compiled) == 1


def test_a_mistake_shows_at_the_first_use():
    with pytest.raises(re.error, match="unterminated"):
        pattern("(").match("x")
