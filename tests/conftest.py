"""What several test modules need: the fixtures' folder, and small boards and lines made on the spot."""

import os
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings

# A loaded machine is slow, and fixtures of one test serve all its examples: neither is a defect of what is tested.
settings.register_profile(
    "here", deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow]
)
# A landing must not hang on the day's random numbers; every run elsewhere goes on searching.
settings.register_profile("ci", settings.get_profile("here"), derandomize=True)
settings.load_profile("ci" if os.environ.get("CI") else "here")

ROOT = Path(__file__).resolve().parent.parent


@pytest.fixture(scope="session")
def shop():
    """The folder of the invented shop."""
    return ROOT / "fixtures"


@pytest.fixture
def run(capsys):
    """Return a function that runs a command as a user types it, and gives exit code, output and errors."""

    def call(*arguments):
        from capcheck.cli import main

        code = main([str(a) for a in arguments])
        captured = capsys.readouterr()
        return code, captured.out, captured.err

    return call


@pytest.fixture
def make_board(tmp_path):
    """Return a function that writes a board of a few parts and gives its folder."""

    def make(rows, *, bom=(), toml="", header="Ref,X [mm],Y [mm],Rotation,Side,Value,Footprint"):
        folder = tmp_path / "board"
        folder.mkdir(exist_ok=True)
        (folder / "placements.csv").write_text("\n".join([header, *rows]) + "\n")
        if bom:
            (folder / "bom.csv").write_text("\n".join(bom) + "\n")
        (folder / "board.toml").write_text(
            'placements = "placements.csv"\n' + ('bom = "bom.csv"\n' if bom else "") + toml
        )
        return folder

    return make


@pytest.fixture
def make_line(tmp_path):
    """Return a function that writes machine profiles and a line of them, and gives the line's file."""

    def make(*profiles, extra=""):
        names = []
        for number, text in enumerate(profiles, 1):
            name = f"m{number}.machine.toml"
            (tmp_path / name).write_text(text)
            names.append(name)
        line = tmp_path / "l.line.toml"
        line.write_text(f'name = "Line"\nmachines = {names}\n{extra}')
        return line

    return make
