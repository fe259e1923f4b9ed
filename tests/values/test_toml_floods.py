"""A file full of faults is told by its first ones, at once.

Figures: invented; sums worked by hand.
"""

from __future__ import annotations

import pytest

from capcheck.model import load_manifest
from capcheck.values.errors import InputError


@pytest.mark.parametrize(
    "text",
    [
        "\n".join(f"key{i} = {i}" for i in range(20_000)),
        "\n".join(f"[panel.k{i}]\na = {i}" for i in range(20_000)),
        "fiducials = [" + ", ".join('{x = "a", y = 3}' for _ in range(20_000)) + "]",
    ],
    ids=["unknown keys", "unknown tables", "wrong values"],
)
def test_twenty_thousand_faults_are_counted_and_the_first_told(tmp_path, text, in_time):
    file = tmp_path / "board.toml"
    file.write_text(text)
    with in_time(2), pytest.raises(InputError) as caught:
        load_manifest(file)
    assert len(caught.value.problems) == 21
    assert caught.value.problems[0].where.row == 1
    assert "more faults" in caught.value.problems[-1].what
