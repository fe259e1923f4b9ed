"""A machine profile, as a file to compare machines with, of the limits that cover a share of the boards."""

from __future__ import annotations

import math
from collections.abc import Iterator

from capcheck.machines import chip_within
from capcheck.survey.coverage import Cover
from capcheck.survey.needs import EDGES, LIMITS, ProfileLimit
from capcheck.values import LENGTH

_OF_EDGES = "  # what these boards leave free; where a machine needs more, order rails"
_CHIP = frozenset({"smallest_chip_length", "smallest_chip_width"})


def profile_text(cover: Cover, remark: str) -> str:
    """Return the profile as TOML, limits rounded towards the more able machine; *remark* says what it covers."""
    lines = [f"# {line}" for line in remark.splitlines()]
    lines += ["", 'name = "What the boards ask for"', "", "[board]  # either way round", *_section(cover, "board")]
    lines += ["", "[[head]]", 'name = "any"', *_section(cover, "head")]
    if (chip := _chip(cover)) is not None:
        lines.append(f'smallest_chip = "{chip}"')
    lines.append(f"recognises_balls = {'true' if cover.balls else 'false'}")
    return "".join(f"{line}\n" for line in lines)


def _section(cover: Cover, section: str) -> Iterator[str]:
    for limit in (*LIMITS, *EDGES):
        if limit.section == section and limit.key in cover.values and limit.key not in _CHIP:
            remark = _OF_EDGES if limit in EDGES else ""
            yield f'{limit.key} = "{rounded(cover.values[limit.key], limit)}"{remark}'


def rounded(value: float, limit: ProfileLimit) -> str:
    """Return a limit with its unit, to three digits at least, up for an upper limit and down for a lower one."""
    unit = "mm" if limit.dimension is LENGTH else str(limit.dimension.unit)
    digits = max(0, 2 - math.floor(math.log10(value)))
    step = 10.0**-digits
    # What stands a hair beside a step by the arithmetic of floats is that step.
    count = math.ceil(value / step - 1e-6) if limit.upper else math.floor(value / step + 1e-6)
    return f"{count * step:.{digits}f} {unit}"


def _chip(cover: Cover) -> str | None:
    """Return the largest chip that is no larger than the smallest asked for; None where none is asked for."""
    asked = [cover.values.get(key, math.inf) for key in ("smallest_chip_length", "smallest_chip_width")]
    if not any(map(math.isfinite, asked)):
        return None
    return chip_within(*asked)
