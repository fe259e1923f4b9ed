"""Damaged texts for what reads one text at a time: `python tests/fuzz/damaged_text.py [--seconds 60] [--seed 1]`.

Expressions, cells with a unit, lists of references and names of parts. Each case must give an answer or the error that
the function declares, within two seconds. What fails is printed with its text.
"""

from __future__ import annotations

import argparse
import random
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path

from mutation import mutated

from capcheck.engine.expression import ExpressionError, read_expression
from capcheck.facts import FACTS
from capcheck.intake import CellError, expand_references, read_measure
from capcheck.model import PartName
from capcheck.packages import bodies_of
from capcheck.values import LENGTH

LIMIT_S = 2.0
_CLEARED = 5000
"""After so many names what is remembered of them is forgotten: a long run is to show no limit of memory."""


def _expression(text: str) -> None:
    read_expression(text, FACTS, {})


def _measure(text: str) -> None:
    for unit in (None, "mm", "mil"):
        for decimal in (None, ","):
            read_measure(text, LENGTH, unit=unit, decimal=decimal)


def _references(text: str) -> None:
    refs, complaints = expand_references(text)
    if len(refs) > 20_000:
        raise AssertionError("one cell stands for more references than a board has")
    if any(not complaint for complaint in complaints):
        raise AssertionError("a complaint without words")


def _part(text: str) -> None:
    prefix, _, rest = text.partition("|")
    footprint, _, rest = rest.partition("|")
    number, _, description = rest.partition("|")
    for body in bodies_of([PartName(number, footprint, description=description, ref_prefix=prefix)]):
        for measure in (body.length, body.width, body.height, body.pitch):
            if not measure.low <= measure.high:
                raise AssertionError(f"an interval that is none: {measure}")


TARGETS: dict[str, tuple[Callable[[str], None], type[Exception] | None, tuple[str, ...]]] = {
    "expression": (
        _expression,
        ExpressionError,
        (
            "part.height <= head.max_part_height and part.mounting == 'surface'",
            "max(part.length, part.width) * 2 - '3 mm' > min('1 mm', part.height) or not is_known(part.pitch)",
            "part.lead_style in ('gull wing', 'J lead') and abs(part.height - '2 mm') / '1 mm' < 3",
        ),
    ),
    "measure": (
        _measure,
        CellError,
        ("1.6 mm", "1,6±0,1 mm", "max 2.1 mm", "0.5..0.7 mm", "62 mil", '0.062"', "1.2 +0.1/-0.05 mm", "12.000 µm"),
    ),
    "references": (
        _references,
        None,
        ("R1-R5, R9, C1,2,3", "C1..C14; C20 (2x)", "R65_D..R68_D", "U1 and U2 to U9", "J1-2 / J3", "R1 R2\nR3"),
    ),
    "part": (
        _part,
        None,
        (
            "C|CAPC1608X90N|GRM188R71C999KA99D|CAP CER 0.1uF 16V X7R 0603",
            "U|QFN50P500X500X100-33N|W-2104|IC 32-QFN exposed pad 5x5mm",
            "J|CONN 1x04 2.54mm|W-3|header 4 pos vertical",
            "Q|SOT95P280X145-3N|QSS999LT1G|NMOS SOT-23-3",
            "L|INDM4040X200N|W-88|4.0 x 4.0 x 2.0 mm",
            "D|DIO_SMA|SMAJ99A|TVS 5 V DO-214AC",
        ),
    ),
}


def cases(target: str, seed: int) -> Iterator[str]:
    """Yield damaged texts without end; the same seed gives the same ones."""
    texts = TARGETS[target][2]
    rng = random.Random(f"{target} {seed}")
    while True:
        yield mutated(rng.choice(texts).encode(), rng).decode("utf-8", "replace")[:5000]


def wrong_with(target: str, text: str) -> str:
    """Return what is wrong with how a text is taken; empty where nothing is."""
    function, declared, _ = TARGETS[target]
    start = time.process_time()
    try:
        function(text)
    except Exception as error:  # noqa: BLE001 - whatever it is, it is what is looked for
        if declared is None or not isinstance(error, declared):
            return f"{type(error).__name__}: {error}"
    took = time.process_time() - start
    return f"took {took:.1f} s" if took > LIMIT_S else ""


def _forget() -> None:
    for name, module in list(sys.modules.items()):
        if name.startswith("capcheck.packages"):
            for value in vars(module).values():
                if hasattr(value, "cache_clear") and getattr(value, "cache_info", lambda: None)().maxsize is not None:
                    value.cache_clear()


def main() -> int:
    """Run all targets for their share of the time, and print what was found."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--seconds", type=float, default=60.0)
    parser.add_argument("--seed", type=int, default=1)
    chosen = parser.parse_args()
    total = failures = 0
    for target in TARGETS:
        end, count, failed = time.monotonic() + chosen.seconds / len(TARGETS), 0, {}
        for text in cases(target, chosen.seed):
            if what := wrong_with(target, text):
                failed.setdefault(what[:100], text)
            count += 1
            if count % _CLEARED == 0:
                _forget()
            if time.monotonic() > end:
                break
        sys.stdout.write(f"{target:10} {count:9,} cases, {len(failed)} kinds of failure\n")
        for what, text in failed.items():
            sys.stdout.write(f"           {what}\n           {text[:300]!r}\n")
        total, failures = total + count, failures + len(failed)
    sys.stdout.write(f"{total:,} cases, {failures} kinds of failure\n")
    return bool(failures)


if __name__ == "__main__":
    sys.path.insert(0, str(Path(__file__).parent))
    sys.exit(main())
