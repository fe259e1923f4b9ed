"""What lies in a customer's folder, or comes from elsewhere than a file, is never obeyed and never waited for.

Figures: invented, or the digits of the text; an inch is 25.4 mm by definition.
"""

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

import capcheck
from capcheck.cli import main
from capcheck.shop.trust import trust_list
from capcheck.values import InputError

WAIVES_ALL = '[[waiver]]\nrule = "*"\nreason = "x"\nwho = "y"\nuntil = 2099-01-01\n'


@pytest.fixture
def customer(tmp_path, shop, monkeypatch):
    """A customer's board whose folder holds a second board, and a configuration that waives everything."""
    for folder in (tmp_path / "cust", tmp_path / "cust" / "panel", tmp_path / "good"):
        shutil.copytree(shop / "irrigation-controller", folder, dirs_exist_ok=True)
    (tmp_path / "cust" / "capcheck.toml").write_text(WAIVES_ALL)
    monkeypatch.chdir(tmp_path / "cust")
    return tmp_path


@pytest.mark.usefixtures("customer")
@pytest.mark.parametrize("board", ["panel", "../good", "."])
def test_a_configuration_beside_one_board_is_not_obeyed_for_another(board, shop, capsys):
    line = str(shop / "lines" / "chip.line.toml")
    assert main(["check", board, "--line", line]) == 1
    assert "waived" not in capsys.readouterr().out


def test_a_home_below_the_working_directory_holds_no_trust(monkeypatch):
    monkeypatch.delenv("XDG_STATE_HOME", raising=False)
    monkeypatch.setenv("HOME", ".")
    with pytest.raises(InputError, match="relative"):
        trust_list()


def test_a_relative_home_has_no_library_write_beside_the_program_or_the_board(tmp_path, shop):
    package = Path(capcheck.__file__).parent
    shutil.copytree(shop / "irrigation-controller", tmp_path / "board")
    environment = {**os.environ, "HOME": ".", "XDG_CACHE_HOME": "cache"}
    command = [sys.executable, "-m", "capcheck", "check", "board", "--line", str(shop / "lines" / "mixed.line.toml")]
    before = sorted(package.rglob("*.json"))
    subprocess.run(command, cwd=tmp_path, env=environment, capture_output=True, check=True)
    assert sorted(package.rglob("*.json")) == before
    assert [p.name for p in tmp_path.iterdir()] == ["board"]


def test_a_pipe_is_neither_trusted_nor_run(tmp_path, capsys):
    os.mkfifo(tmp_path / "f.py")
    assert main(["trust", str(tmp_path / "f.py")]) == 2
    assert main(["rules", "--rules", str(tmp_path / "f.py")]) == 2
    assert "not a file" in capsys.readouterr().err


def test_code_of_the_shop_that_raises_what_is_no_exception_ends_with_2(tmp_path, capsys):
    code = tmp_path / "k.rules.py"
    code.write_text("class E(BaseException): pass\nraise E('x')\n")
    (tmp_path / "shop.toml").write_text('rules = ["k.rules.py"]\n')
    assert main(["rules", "--config", str(tmp_path / "shop.toml")]) == 2
    assert "k.rules.py:2" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("entry", "told"),
    [
        ("placements = [" + '"placements.csv", ' * 5000 + "]", "50"),
        ("not_fitted = [" + ", ".join(f'"R{n}-R{n + 9000}"' for n in range(3000)) + "]", "200,000 references"),
    ],
)
def test_entries_without_end_are_refused(tmp_path, shop, capsys, entry, told):
    folder = tmp_path / "board"
    shutil.copytree(shop / "irrigation-controller", folder)
    (folder / "board.toml").write_text(entry)
    assert main(["check", str(folder)]) == 2
    assert told in capsys.readouterr().err


def test_a_value_of_thousands_of_digits_takes_no_long_time(in_time):
    from capcheck.intake.compare.component_values import differ

    with in_time(0.5):
        differ("1" * 20_000 + "V", "100n", "C")


def test_a_table_of_limits_in_the_boards_own_folder_is_not_obeyed(run, shop, tmp_path, monkeypatch):
    shutil.copytree(shop, tmp_path / "desk")
    monkeypatch.chdir(tmp_path / "desk")
    board = Path("irrigation-controller")
    (board / "cover.csv").write_text("board.customer,most\n*,90 mm\n")
    Path("cover.toml").write_text(
        f'[tables]\ncover = {{ file = "{board}/cover.csv" }}\n'
        '[[rule]]\nid = "cover"\ntitle = "t"\nfinding = "f"\nsubject = "part"\n'
        'require = "part.height <= tables.cover.most"\nmessage = "m"\nwhy = "w"\nremedy = "r"\nbasis = "b"\n'
    )
    Path("capcheck.toml").write_text('rules = ["cover.toml"]\n')
    code, _, err = run("check", board, "--line", "lines/mixed.line.toml")
    assert code == 2
    assert "own folder" in err
