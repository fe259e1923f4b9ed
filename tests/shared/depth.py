"""How deep the tests go that take a sample: of drawn values, of instances at random, of every form in every format.

``pytest`` takes small samples; ``CAPCHECK_TESTS=deep pytest -m sampled`` takes whole ones, in the same tests.
"""

from __future__ import annotations

import os
from collections.abc import Collection
from math import ceil
from typing import TYPE_CHECKING, TypeVar

import pytest

if TYPE_CHECKING:
    from _pytest.mark.structures import ParameterSet

Case = TypeVar("Case")

DEEP = os.environ.get("CAPCHECK_TESTS") == "deep"
DRAWN = 100 if DEEP else 10
"""Values that a test draws which names no number of its own."""


def sample_size(deep: int, quick: int | None = None) -> int:
    """Return how many of *deep* are taken: all, or where the sample is small *quick*, else a fifth and at least 3."""
    return deep if DEEP else min(deep, quick or max(3, deep // 5))


def sample(cases: Collection[Case], quick: int) -> list[Case]:
    """Return all cases, or *quick* at most that lie evenly among them."""
    step = 1 if DEEP else ceil(len(cases) / quick)
    return [*cases][step // 2 :: step]


def sample_of(cases: Collection[object], quick: int) -> list[ParameterSet]:
    """Return the same for ``parametrize``, marked."""
    mark = pytest.mark.sampled
    return [pytest.param(*(case if isinstance(case, tuple) else (case,)), marks=mark) for case in sample(cases, quick)]
