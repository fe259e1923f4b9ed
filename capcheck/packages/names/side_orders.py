"""Dimensions that a text writes in another order than length, width, height, and says so: ``30x20x7 mm (HxLxW)``."""

from __future__ import annotations

import re
from functools import lru_cache
from typing import Final

from capcheck.lexicon import axes_of, shape, sides_named
from capcheck.values import pattern

_SIDE: Final = r"[LWBHTD]"


def _number(at: int) -> str:
    return (
        rf"(?:(?P<before{at}>{_SIDE}|Ø)\s?[=:]?\s?)?(?P<n{at}>(?:\d{{1,3}}(?:\.\d{{1,4}})?|\.\d{{1,4}})(?![\d.]))"
        rf"\s?(?P<u{at}>MM|INCH|IN|MILS?|\")?(?:\s?\(?(?P<behind{at}>{_SIDE})(?:\)|(?!(?!X)\w|\s?[X*/]\s?[A-Z])))?"
    )


_PRODUCT: Final = pattern(
    rf"(?<![A-Z\d./]){_number(0)}\s?[X*/]\s?{_number(1)}(?:\s?[X*/]\s?{_number(2)})?(?!\s?[X*]?\d)(?:\s?(?P<u>MM)(?![A-Z]))?"
)


def in_usual_order(text: str) -> str:
    """Return a normalised *text* with each product whose order is stated as length x width x height.

    Two numbers of which one is a height or a diameter become labelled ones.
    """
    if not _has_product(shape(text)):
        return text
    found: list[str] = []

    def ordered(match: re.Match[str]) -> str:
        count = 3 if match["n2"] else 2
        if count == 2 and match["before0"] == "Ø" and not (match["before1"] or match["behind1"]):
            unit = match["u"] or match["u1"] or match["u0"] or ""
            return f"D={match['n0']}{match['u0'] or unit} L={match['n1']}{match['u1'] or unit}"
        letters = [match[f"before{at}"] or match[f"behind{at}"] or "" for at in range(count)]
        if "/" in match[0] and not any(letters) and len(axes()) != count:
            return match[0]
        order = sides_named("".join(letters).replace("B", "W")) if all(letters) else "" if any(letters) else axes()
        if len(order) < count and count == 2:
            return match[0]
        unit = next((match[u] for u in ("u", "u2", "u1", "u0") if match[u]), "")
        sides = {side: f"{match[f'n{at}']}{match[f'u{at}'] or unit}" for at, side in enumerate(order[:count])}
        if sides.keys() == set("LWH"):
            return match[0] if _is_read(match, order) else "X".join(sides[side] for side in "LWH")
        if count == 2 and order[-1:] in {"H", "L"} and order[0] == "D":
            return f"D={sides['D']} {order[-1]}={sides[order[-1]]}"
        if count == 2 and "H" in sides and not any(match[f"before{at}"] for at in range(2)):
            return " ".join(f"{side}={value}" for side, value in sides.items())
        return match[0]

    def axes() -> str:
        if not found:
            found.append(axes_of(text))
        return found[0]

    return _PRODUCT.sub(ordered, text)


@lru_cache(maxsize=4096)
def _has_product(shaped: str) -> bool:
    return _PRODUCT.search(shaped) is not None


def _is_read(match: re.Match[str], order: str) -> bool:
    """Whether a product is read as it stands: the height last, without a letter before a whole number."""
    lettered_whole = any(match[f"before{at}"] for at in (1, 2)) and all("." not in match[f"n{at}"] for at in range(3))
    return order.endswith("H") and "/" not in match[0] and not lettered_whole
