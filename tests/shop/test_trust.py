"""Code runs only from what is named or trusted, by every command that reads rules or facts."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

Run = Callable[..., tuple[int, str, str]]


class Shop:
    """A shop's folder with a customer's in it; every Python file here leaves a mark when it runs."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.sent = folder / "sent"
        self.sent.mkdir()
        (self.sent / "p.csv").write_text("Ref,X [mm],Y [mm],Rotation,Side,Value,Footprint\nR1,1,1,0,top,10k,R0402\n")
        self.mark = folder / "it-ran"

    def python(self, path: Path) -> Path:
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(
            f"import capcheck\nfrom capcheck.values import LENGTH\nopen({str(self.mark)!r}, 'w').close()\n"
            "facts = capcheck.Catalogue()\n@facts.number('part.cover', LENGTH, 'room')\n"
            "def cover(part_height):\n    return part_height\n"
        )
        return path

    @property
    def ran(self) -> bool:
        there = self.mark.exists()
        self.mark.unlink(missing_ok=True)
        return there


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Shop:
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    (tmp_path / "shop").mkdir()
    monkeypatch.chdir(tmp_path / "shop")
    return Shop(tmp_path / "shop")


COMMANDS = [
    ("check", "sent"),
    ("check", "sent", "--show-config"),
    ("check", "--placements", "sent/p.csv"),
    ("rules",),
    ("facts",),
    ("explain", "part-height"),
    ("test",),
    ("part", "R1", "sent"),
]
NAMES = ['facts = ["code.py"]\n', 'rules = ["code.rules.py"]\n', 'rules = ["code.py"]\n', 'rules = ["rules"]\n']


def bring_code(shop: Shop, folder: Path, text: str) -> None:
    (folder / "capcheck.toml").write_text(text)
    for name in ("code.py", "code.rules.py", "rules/code.rules.py"):
        shop.python(folder / name)


@pytest.mark.parametrize("text", NAMES)
@pytest.mark.parametrize("command", COMMANDS)
def test_code_of_a_configuration_that_was_found_does_not_run(
    shop: Shop, run: Run, command: tuple[str, ...], text: str
) -> None:
    bring_code(shop, shop.folder, text)
    code, _, err = run(*command)
    assert not shop.ran
    assert code == 2
    assert "capcheck.toml:1" in err
    assert "capcheck trust capcheck.toml" in err


@pytest.mark.parametrize("text", NAMES)
@pytest.mark.parametrize(
    "command",
    [
        ("check", "."),
        ("check", "--placements", "p.csv"),
        ("check", "board.toml"),
        ("rules",),
        ("explain", "part-height"),
        ("facts",),
        ("test",),
        ("part", "R1", "."),
    ],
)
def test_nothing_of_a_customer_s_configuration_is_obeyed_in_the_customer_s_folder(
    shop: Shop, run: Run, command: tuple[str, ...], text: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    (shop.sent / "board.toml").write_text('placements = "p.csv"\n')
    bring_code(shop, shop.sent, text)
    monkeypatch.chdir(shop.sent)
    code, out, err = run(*command)
    assert not shop.ran
    assert code == 0, err
    assert "not obeyed: capcheck.toml lies in the board's own folder" in " ".join((out + err).split())


def test_the_report_names_what_holds_and_what_does_not(shop: Shop, run: Run) -> None:
    (shop.folder / "capcheck.toml").write_text("")
    (shop.sent / "capcheck.toml").write_text('ignore = ["size"]\n')
    _, out, err = run("check", "sent")
    assert "configuration in force: capcheck.toml" in out
    assert "not obeyed: sent/capcheck.toml" in out
    assert err == ""
    _, out, _ = run("check", "sent", "--format", "json")
    assert '"configuration in force: capcheck.toml"' in out
    for form in ("lines", "csv", "github", "junit"):
        assert "not obeyed: sent/capcheck.toml" in run("check", "sent", "--format", form)[2]
    assert "not obeyed: sent/capcheck.toml" in run("check", "sent", "--line", "missing.line.toml")[2]
    _, out, _ = run("check", "sent", "--show-config")
    assert "not obeyed" in out


@pytest.mark.parametrize("text", NAMES[:1])
def test_what_is_trusted_runs_until_a_file_of_it_changes(shop: Shop, run: Run, text: str) -> None:
    bring_code(shop, shop.folder, text)
    code, out, _ = run("trust", "capcheck.toml")
    assert (code, shop.ran) == (0, False)  # to trust is not to run
    assert "code.py" in out
    assert run("facts")[0] == 0
    assert shop.ran
    for file in ("capcheck.toml", "code.py"):
        path = shop.folder / file
        whole = path.read_text()
        path.write_text(whole + "\n# other\n")
        code, _, err = run("facts")
        assert (code, shop.ran) == (2, False)
        assert f"trusted: {file}" in err
        path.write_text(whole)
        assert run("facts")[0] == 0
        assert shop.ran
    assert run("trust", "--list")[1].count("\n") == 2
    assert run("trust", "--forget", "capcheck.toml")[1] == "forgotten: 2\n"
    assert run("facts")[0] == 2
    assert not shop.ran


def test_a_named_configuration_runs_its_code(shop: Shop, run: Run) -> None:
    bring_code(shop, shop.folder, NAMES[0])
    assert run("facts", "--config", "capcheck.toml")[0] == 0
    assert shop.ran


def test_python_named_as_rules_asks_for_trust_and_trust_does_not_reach_into_the_board_s_folder(
    shop: Shop, run: Run
) -> None:
    shop.python(shop.folder / "shop-rules" / "a.rules.py")
    for command in (
        ("rules", "--rules", "shop-rules"),
        ("test", "shop-rules"),
        ("check", "sent", "--rules", "shop-rules"),
    ):
        code, _, err = run(*command)
        assert (code, shop.ran) == (2, False)
        assert "capcheck trust shop-rules/a.rules.py" in err
    shop.python(shop.sent / "code.py")
    (shop.folder / "capcheck.toml").write_text('facts = ["sent/code.py"]\n')
    assert run("trust", "capcheck.toml")[0] == 0
    code, _, err = run("check", "sent")
    assert (code, shop.ran) == (2, False)
    assert '"sent/code.py" lies in the board\'s own folder' in err


@pytest.mark.parametrize("rules", ["sent", "sent/../sent/rules", "linked"])
def test_rules_in_the_board_s_folder_are_not_obeyed_for_a_configuration_that_was_found(
    shop: Shop, run: Run, rules: str
) -> None:
    (shop.sent / "rules").mkdir()
    for folder in (shop.sent, shop.sent / "rules"):
        (folder / "r.toml").write_text("[[rule]]\n")
    (shop.folder / "linked").symlink_to(shop.sent / "rules", target_is_directory=True)
    (shop.folder / "capcheck.toml").write_text(f'rules = ["{rules}"]\n')
    code, _, err = run("check", "sent")
    assert code == 2
    assert "lies in the board's own folder" in err


def test_a_relative_state_folder_is_not_taken_for_it_could_be_the_customer_s(
    shop: Shop, run: Run, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setenv("HOME", str(tmp_path / "home"))
    monkeypatch.setenv("XDG_STATE_HOME", "state")
    bring_code(shop, shop.folder, NAMES[0])
    assert run("trust", "capcheck.toml")[0] == 0
    assert not (shop.folder / "state").exists()


@pytest.mark.parametrize(
    ("given", "said"), [((), "names no file"), (("missing.toml",), "there is no such"), (("sent",), "folder")]
)
@pytest.mark.usefixtures("shop")
def test_what_cannot_be_trusted_is_told(run: Run, given: tuple[str, ...], said: str) -> None:
    code, _, err = run("trust", *given)
    assert code == 2
    assert said in err


def test_data_need_no_trust(shop: Shop, run: Run) -> None:
    (shop.folder / "capcheck.toml").write_text("strict = true\n")
    code, _, err = run("trust", "capcheck.toml")
    assert code == 2
    assert "data need no trust" in err
