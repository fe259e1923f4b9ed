"""What several test modules need: the fixtures' folder, small boards and lines made on the spot, runs of commands."""

import itertools
import json
import os
import select
import subprocess
import sys
import time
from contextlib import contextmanager
from ctypes.util import find_library
from pathlib import Path

import pytest
from _pytest.mark.structures import ParameterSet
from depth import DRAWN
from hypothesis import HealthCheck, is_hypothesis_test, settings

# A loaded machine is slow, and fixtures of one test serve all its examples: neither is a defect of what is tested.
settings.register_profile(
    "here",
    deadline=None,
    max_examples=DRAWN,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
# A landing must not hang on the day's random numbers; every run elsewhere goes on searching.
settings.register_profile("ci", settings.get_profile("here"), derandomize=True, max_examples=min(DRAWN, 40))
settings.load_profile("ci" if os.environ.get("CI") else "here")

ROWS = "rows(names, rows): the test holds for each row of a table; as parametrize, but all rows are one item"

SAMPLED = "sampled: the test takes a sample, whose size tests/shared/depth.py says; set by itself"


def pytest_configure(config):
    config.addinivalue_line("markers", ROWS)
    config.addinivalue_line("markers", SAMPLED)
    # Workers of xdist are told the width of its terminal, and texts that are piped would keep to it.
    os.environ.pop("COLUMNS", None)


def pytest_generate_tests(metafunc):
    """Give a test of a table its first row, under which it is collected: an item a row costs more than its answer."""
    for table in metafunc.definition.iter_markers("rows"):
        names, rows = table.args[:2]
        rows = [*rows]
        assert rows, "a table without rows tests nothing"
        table.kwargs["every"] = rows
        metafunc.parametrize(names, rows[:1], ids=[f"{len(rows)} rows"])


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(items):
    """Mark what draws values, or asks for the size of a sample: those go deeper where one asks for it."""
    for item in items:
        if is_hypothesis_test(item.obj) or not {"sample", "sample_size"}.isdisjoint(item.obj.__code__.co_names):
            item.add_marker(pytest.mark.sampled)


@pytest.hookimpl(tryfirst=True)
def pytest_pyfunc_call(pyfuncitem):
    """Ask a test of a table about every row, and tell of all in which it does not hold."""
    tables = [*pyfuncitem.iter_markers("rows")]
    if not tables:
        return None
    given = {name: pyfuncitem.funcargs[name] for name in pyfuncitem._fixtureinfo.argnames}
    failed = []
    for rows in itertools.product(*(table.kwargs["every"] for table in tables)):
        asked = {}
        for table, row in zip(tables, rows, strict=True):
            asked |= _named(table.args[0], row)
        try:
            pyfuncitem.obj(**{**given, **asked})
        except Exception as error:  # noqa: BLE001 - whatever a row raises is told beside the others
            error.add_note(f"in the row {asked}")
            failed.append(error)
    if failed:
        message = f"{len(failed)} rows"
        raise ExceptionGroup(message, failed)
    return True


def _named(names, row):
    """Return the values of a row by the names that a table gives them."""
    names = [name.strip() for name in names.split(",")] if isinstance(names, str) else names
    if isinstance(row, ParameterSet):
        assert not row.marks, "a row of a table is neither skipped nor expected to fail"
        row = row.values
    elif len(names) == 1:
        row = [row]
    return dict(zip(names, row, strict=True))


ROOT = Path(__file__).resolve().parent.parent


@pytest.fixture(scope="session")
def shop():
    """The folder of the invented shop."""
    return ROOT / "fixtures"


def _known_work():
    """Do what a processor of 2020 or later does in a hundredth or two of a second: texts, a table, a sort."""
    counts = {}
    for number in range(30_000):
        word = f"{number % 977:03d}"
        counts[word] = counts.get(word, 0) + len(word)
    return sorted(counts.items())


@pytest.fixture
def in_time():
    """Return a context that fails where its block takes longer than so many seconds, told by known work around it.

    The known work is timed before and after, and the slower of both counts as 0.01 s: so neither a loaded nor a slow
    machine fails, and a runaway does on each. With *waiting*, what other processes take counts too.
    """

    @contextmanager
    def block(seconds, *, waiting=False):
        clock = time.monotonic if waiting else time.process_time

        def taken(work):
            start = clock()
            work()
            return clock() - start

        before = taken(_known_work)
        start = clock()
        yield
        took = clock() - start
        unit = max(before, taken(_known_work))
        assert took < seconds * 100 * unit, f"{took:.2f} s, where work of 0.01 s takes {unit:.3f} s"

    return block


LONG_SEARCHES = {"--time-limit", "--help", "--what-if", "--stock"}


def _soon(arguments):
    """Return the arguments of a command, of a plan with little time to search: tests look at what is told of plans."""
    searches = arguments[:1] in (["plan"], ["compare"]) and not LONG_SEARCHES & {*arguments}
    return [*arguments, "--time-limit", "0.3"] if searches else arguments


@pytest.fixture
def run(capsys):
    """Return a function that runs a command as a user types it, and gives exit code, output and errors."""

    def call(*arguments):
        from capcheck.cli import main

        code = main(_soon([str(a) for a in arguments]))
        captured = capsys.readouterr()
        return code, captured.out, captured.err

    return call


@pytest.fixture(scope="session")
def answers():
    """What commands have told so far, by their arguments; for ``asked`` alone."""
    return {}


@pytest.fixture
def asked(run, answers):
    """As ``run``, but each question is answered once a session: for commands that read the shop's files and print."""

    def call(*arguments):
        question = tuple(str(a) for a in arguments)
        if question not in answers:
            answers[question] = run(*question)
        return answers[question]

    return call


class ForkServer:
    """A process that has the program loaded and forks for each run."""

    def __init__(self, folder, environment):
        self._streams = [str(folder / name) for name in ("out", "err")]
        theirs, self._requests = os.pipe()
        self._replies, answers = os.pipe()
        self._process = subprocess.Popen(
            [sys.executable, Path(__file__).with_name("fork_server.py"), str(theirs), str(answers)],
            pass_fds=(theirs, answers),
            env={**os.environ, "PYTHONPATH": str(ROOT), **environment},
        )
        os.close(theirs)
        os.close(answers)

    def run(self, module, arguments, cwd, environment):
        asked = {"module": module, "arguments": arguments, "cwd": str(cwd or Path.cwd()), "streams": self._streams}
        os.write(self._requests, json.dumps({**asked, "environment": environment}).encode() + b"\n")
        assert select.select([self._replies], [], [], 120)[0], "the run takes more than two minutes"
        code = int(os.read(self._replies, 100))
        out, err = (Path(file).read_bytes() for file in self._streams)
        return subprocess.CompletedProcess([module, *arguments], code, out, err)

    def end(self):
        os.close(self._requests)
        os.close(self._replies)
        self._process.kill()
        self._process.wait()


@pytest.fixture(scope="session")
def forked(tmp_path_factory):
    """Return a function that runs a module in a process of its own, forked from one that has the program loaded.

    *started* is what the environment holds when the interpreter starts, such as the encoding of its streams.
    """
    servers = {}

    def run(module, *arguments, cwd=None, started=(), **environment):
        if started not in servers:
            servers[started] = ForkServer(tmp_path_factory.mktemp("forks"), dict(started))
        environment = {**os.environ, "PYTHONPATH": str(ROOT), **dict(started), **environment}
        return servers[started].run(module, [str(a) for a in arguments], cwd, environment)

    yield run
    for server in servers.values():
        server.end()


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


@pytest.fixture
def pango():
    """Skip a test of papers as PDF where the system lacks what sets their text; .ci/run installs it."""
    if find_library("pangoft2-1.0") is None:
        pytest.skip("no Pango on this machine: apt-get install libpangoft2-1.0-0")
