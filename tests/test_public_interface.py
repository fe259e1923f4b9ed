"""What ``import capcheck`` gives, and what it costs."""

import subprocess
import sys
from pathlib import Path

import pytest

import capcheck

HERE = Path(__file__).resolve().parent


@pytest.mark.parametrize("name", capcheck.__all__)
def test_every_public_name_is_there_and_described(name):
    value = getattr(capcheck, name)
    assert value is not None
    assert value.__doc__


def test_an_unknown_name_is_an_attribute_error():
    with pytest.raises(AttributeError, match="No capcheck attribute chekc"):
        _ = capcheck.chekc


def test_importing_the_package_loads_nothing_heavy():
    code = (
        "import sys, capcheck\n"
        "heavy = {'numpy', 'pydantic', 'pint', 'rich', 'shapely', 'ezdxf', 'argparse'} & set(sys.modules)\n"
        "sys.exit(str(heavy) if heavy else 0)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr


def test_the_public_interface_is_typed():
    mypy = [sys.executable, "-m", "mypy", "--strict", "--no-incremental", str(HERE / "typing" / "public_interface.py")]
    done = subprocess.run(mypy, capture_output=True, text=True, check=False, cwd=HERE.parent)
    assert done.returncode == 0, done.stdout
