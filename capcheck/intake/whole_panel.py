"""The panel that board.toml describes: one circuit's placements and outline, stepped to all of its circuits."""

from __future__ import annotations

from msgspec.structs import replace

from capcheck.intake.frame import Panel, step, step_outline
from capcheck.intake.package import Package
from capcheck.model import PanelSource


def stepped(package: Package, panel: PanelSource) -> Package:
    """Return the package of the whole panel; the references of further circuits end in their number: ``R1/2``."""
    shape = None if package.outline is None else step_outline(package.outline, panel)
    count = panel.columns * panel.rows
    if count == 1:
        return replace(package, outline=shape)
    placed = package.placements
    copies = step(placed.x_mm, placed.y_mm, placed.rotation_deg, package.outline, panel)
    of = copies.source
    base = [placed.ref[i] for i in of.tolist()]
    return replace(
        package,
        outline=shape,
        panel=Panel(circuits=count, circuit=copies.circuit, base=base),
        placements=replace(
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
        ),
    )
