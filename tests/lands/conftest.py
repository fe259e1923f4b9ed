"""A board of parts in known places with the layers that show their lands, as files.

Figures: invented.
"""

import pytest

from capcheck.checking import read_board

HEAD = "%TF.FileFunction,{function}*%\n%FSLAX46Y46*%\n%MOMM*%\n"


class Layer:
    """A Gerber layer that is written land by land, each of its own size."""

    def __init__(self, function):
        self.text = HEAD.format(function=function)
        self.sizes = {}
        self.body = ""

    def land(self, x, y, width, height):
        code = self.sizes.setdefault((width, height), 10 + len(self.sizes))
        self.body += f"D{code}*\nX{round(x * 1e6)}Y{round(y * 1e6)}D03*\n"
        return self

    def disc(self, x, y, diameter):
        return self.land(x, y, diameter, None)

    def track(self, x, y, to_x, to_y, width=0.2):
        self.land(x, y, width, None)
        self.body += f"X{round(to_x * 1e6)}Y{round(to_y * 1e6)}D01*\n"
        return self

    def pair(self, x, y, pitch=1.6, size=(0.8, 0.9), upright=False):
        dx, dy = (0, pitch / 2) if upright else (pitch / 2, 0)
        size = size[::-1] if upright else size
        return self.land(x - dx, y - dy, *size).land(x + dx, y + dy, *size)

    def write(self):
        return self.text + "".join(map(self._aperture, self.sizes)) + self.body + "M02*\n"

    def _aperture(self, size):
        width, height = size
        return f"%ADD{self.sizes[size]}" + (f"C,{width}*%\n" if height is None else f"R,{width}X{height}*%\n")


SPOTS = [(7.0 * i + 0.3 * (i % 3), 5.0 + 4.0 * (i % 4)) for i in range(1, 13)]
"""Twelve places without a regular step."""


@pytest.fixture
def resistors():
    """The rows of twelve resistors, and a mask of the top with their lands."""
    # An IPC-7351B name states its size.
    rows = "".join(f"R{i},10k,RESC1608X50N,{x},{y},0,top\n" for i, (x, y) in enumerate(SPOTS, 1))
    mask = Layer("Soldermask,Top")
    for x, y in SPOTS:
        mask.pair(x, y)
    return rows, mask


@pytest.fixture
def board(tmp_path):
    def read(rows, *layers, title="X (mm),Y (mm)", read=True, **files):
        (tmp_path / "placements.csv").write_text(f"Ref,Value,Footprint,{title},Rotation,Side\n{rows}")
        for number, layer in enumerate(layers):
            (tmp_path / f"layer{number}.gbr").write_text(layer.write())
        for name, text in files.items():
            (tmp_path / name.replace("__", ".")).write_text(text)
        return read_board(tmp_path) if read else tmp_path

    return read


@pytest.fixture
def layer():
    """A function that begins a layer of a function, such as ``Paste,Top``."""
    return Layer


@pytest.fixture
def spots():
    """The places of the resistors."""
    return SPOTS
