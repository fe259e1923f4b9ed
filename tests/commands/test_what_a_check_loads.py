"""A plain check starts quickly, since it loads and builds nothing of what it does not use."""

import json
import subprocess
import sys

import pytest

FOR_OTHER_WORK = (
    *("capcheck.answers", "capcheck.lists", "capcheck.revisions", "capcheck.store", "capcheck.survey"),
    *("capcheck.commands.several_boards", "capcheck.planning.api", "capcheck.planning.planner"),
    *("capcheck.planning.search", "capcheck.report.page", "capcheck.report.papers", "capcheck.report.picture"),
    *("sqlalchemy", "sqlite3", "psycopg", "tarfile", "glob", "jinja2", "highspy", "multiprocessing"),
)
FOR_OTHER_FILES = (
    *("capcheck.lands", "capcheck.intake.bom", "capcheck.intake.drills", "capcheck.intake.layers"),
    *("capcheck.intake.outline", "capcheck.intake.exchange.netlist", "capcheck.intake.exchange.idf"),
    *("capcheck.intake.folder.find", "capcheck.intake.folder.file_kinds", "capcheck.intake.files.spreadsheet"),
    *("shapely", "ezdxf", "gerbonara", "python_calamine", "xlrd", "pint", "rich"),
)
BUILT = {"LineFile", "MachineProfile", "Manifest", "RuleEntry"}
"""Models that a line, a board.toml and the rules are held to; those inside them are built with them."""

PROGRAM = """
import json, sys
from capcheck.cli import main
code = main(sys.argv[1:])
from pydantic import BaseModel
models = [m for module in list(sys.modules.values()) if (module.__name__ or "").startswith("capcheck.")
          for m in vars(module).values() if isinstance(m, type) and issubclass(m, BaseModel)]
built = sorted({m.__name__ for m in models if "__pydantic_complete__" in vars(m) and m.__pydantic_complete__})
print(json.dumps([code, list(sys.modules), built]), file=sys.stderr)
"""


@pytest.fixture(scope="module")
def loaded(shop, tmp_path_factory):
    """What a check of one list on a line has loaded, and the models that it built."""
    folder = tmp_path_factory.mktemp("plain") / "board"
    folder.mkdir()
    (folder / "placements.csv").write_text("Ref,X [mm],Y [mm],Rotation,Side,Value,Footprint\nR1,5,5,0,top,1k,R0603\n")
    (folder / "board.toml").write_text('placements = "placements.csv"\n')
    line = shop / "lines" / "full.line.toml"
    done = subprocess.run(
        [sys.executable, "-c", PROGRAM, "check", "--line", str(line), "--no-config", str(folder)],
        capture_output=True,
        text=True,
        check=True,
    )
    code, modules, built = json.loads(done.stderr.splitlines()[-1])
    assert code in {0, 1}
    assert "R1" in done.stdout
    return modules, built


@pytest.mark.rows("name", [*FOR_OTHER_WORK, *FOR_OTHER_FILES])
def test_a_plain_check_does_not_load(loaded, name):
    assert [module for module in loaded[0] if module == name or module.startswith(f"{name}.")] == []


def test_a_plain_check_builds_the_models_that_it_uses(loaded):
    assert set(loaded[1]) == BUILT
