"""One circuit's placements and outline, stepped to all circuits of a panel."""

from __future__ import annotations

from msgspec.structs import replace

from capcheck.intake.frame import Panel, step, step_outline
from capcheck.model import Outline, PanelSource, Placements


def stepped(
    placed: Placements, outline: Outline | None, panel: PanelSource
) -> tuple[Placements, Outline | None, Panel | None]:
    """Return placements and outline of the whole panel, and its circuits where it has more than one.

    The references of further circuits end in their number: ``R1/2``.
    """
    shape = None if outline is None else step_outline(outline, panel)
    count = panel.columns * panel.rows
    if count == 1:
        return placed, shape, None
    copies = step(placed.x_mm, placed.y_mm, placed.rotation_deg, outline, panel)
    of = copies.source
    base = [placed.ref[i] for i in of.tolist()]
    whole = replace(
        placed,
        ref=[
            ref if circuit == 1 else f"{ref}/{circuit}"
            for ref, circuit in zip(base, copies.circuit.tolist(), strict=True)
        ],
        x_mm=copies.x,
        y_mm=copies.y,
        rotation_deg=copies.rotation_deg,
        side=placed.side[of],
        kind=placed.kind[of],
        fitted=placed.fitted[of],
        file=placed.file[of],
        row=placed.row[of],
        bom_line=placed.bom_line[of],
        part_type=placed.part_type[of],
        place_open=None if placed.place_open is None else placed.place_open[of],
        test_lands={i: placed.test_lands[s] for i, s in enumerate(of.tolist()) if s in placed.test_lands},
        pin_1_at=None if placed.pin_1_at is None else placed.pin_1_at[of],
    )
    return whole, shape, Panel(circuits=count, circuit=copies.circuit, base=base)
