"""``init --demo``: what it writes can be checked at once, and a wheel holds the same files. Figures: invented."""

import tomllib
from pathlib import Path

ROOT = Path(__file__).parents[2]


def test_the_demo_is_written_and_what_is_printed_can_be_run(run, tmp_path):
    code, out, err = run("init", "--demo", tmp_path / "demo")
    assert code == 0, err
    command = out.splitlines()[-1].removeprefix("try: capcheck ").split(" ")
    code, out, err = run(*command)
    assert code == 0, err
    assert out.splitlines()[-1].startswith("WARN: 0 fail")


def test_the_demo_overwrites_nothing_and_is_no_librarys_template(run, tmp_path):
    (tmp_path / "rules").mkdir()
    (tmp_path / "rules" / "shop.toml").write_text("mine", encoding="utf-8")
    code, _, err = run("init", "--demo", tmp_path)
    assert code == 2
    assert "shop.toml" in err
    assert not (tmp_path / "lines").exists()
    assert run("init", "--demo", tmp_path / "other", "--board", "fixtures/flow-sensor")[0] == 2


def test_the_wheel_is_told_to_hold_every_file_of_the_demo():
    from capcheck.shop import demo

    build = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["tool"]["hatch"]["build"]
    included = {to: ROOT / source for source, to in build["targets"]["wheel"]["force-include"].items()}
    in_wheel = {
        f"{to.removeprefix('capcheck/_demo/')}/{file.relative_to(source).as_posix()}": file.read_bytes()
        for to, source in included.items()
        if to.startswith("capcheck/_demo/")
        for file in source.rglob("*")
        if file.is_file()
    }
    assert in_wheel == demo()
