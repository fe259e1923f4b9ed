"""What a second reader of part numbers objects to: ``python tests/benchmarks/measure_part_numbers.py FOLDER``.

Each folder in FOLDER is a board. Printed are the parts whose body, held for proved, contradicts what their number says
to ``tests/packages/independent_decoders.py`` while no conflict is told, and how many numbers both readers know.
"""

from __future__ import annotations

import argparse
import sys
from collections import Counter
from pathlib import Path

from capcheck import read_board

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "packages"))
import independent_decoders as second


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("folder", type=Path)
    known: Counter[tuple[bool, bool]] = Counter()
    found = boards = 0
    for folder in sorted(f for f in parser.parse_args().folder.iterdir() if f.is_dir()):
        try:
            board = read_board(folder)
        except Exception as error:  # noqa: BLE001 - a board that cannot be read is told and does not end the run
            print(f"{folder.name}: not read: {str(error).splitlines()[0]}")
            continue
        boards += 1
        for name, body in zip(board.types, board.bodies, strict=True):
            number = name.part_number or name.value
            outlines = second.outlines_of(number, name.ref_prefix)
            if number:
                known[bool(outlines), second.is_sized(body)] += 1
            for said in second.contradictions(body, outlines):
                found += 1
                source = f"{outlines[0].source}: {outlines[0].sides}"
                print(f"{folder.name}: {name.ref_prefix} {number} {name.footprint}: {said}; {source}; {body.body_from}")
    print(f"{boards} boards, types of part with a number or value: sized by both {known[True, True]},", end=" ")
    print(f"only by the project {known[False, True]}, only by the second reader {known[True, False]},", end=" ")
    print(f"by neither {known[False, False]}; contradictions without a conflict: {found}")


if __name__ == "__main__":
    main()
