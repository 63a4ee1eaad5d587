"""What the tests share: the demo clinic made once, the tools that need a real office program, and how
examples are drawn.

Property tests draw the same examples each time; an example that ever failed is kept beside its test with
@example. `pytest --hypothesis-profile=search` draws new ones, and more of them.
"""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from datetime import datetime
from importlib.util import find_spec
from pathlib import Path

import pytest
from browsers import Browser, started
from click.testing import CliRunner, Result
from hypothesis import settings
from support import ON_POSTGRES, Postgres, postgres_programs, running_postgres

from consentpack import pipeline
from consentpack.cli import main
from consentpack.register import Register, open_register

# no limit of time for one example: on a busy machine it would fail the test
settings.register_profile("same", derandomize=True, database=None, deadline=None)
settings.register_profile("search", max_examples=1_000, deadline=None, print_blob=True)
settings.load_profile("same")

IMPORTED = datetime(2026, 11, 25, 9, 0)
"""When the demo's audit is imported in tests: no test depends on the clock."""


@pytest.fixture(scope="session")
def demo_clinic(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The invented clinic with its audit imported. Shared: tests that change it copy it first."""
    folder = pipeline.copy_demo(tmp_path_factory.mktemp("demo") / "clinic")
    place = pipeline.open_workplace(folder)
    pipeline.import_audit(place, folder / "audit.csv", now=IMPORTED, by="tests")
    return folder


@pytest.fixture(scope="session")
def place(demo_clinic: Path) -> pipeline.Workplace:
    return pipeline.open_workplace(demo_clinic)


@pytest.fixture(scope="session")
def packs(place: pipeline.Workplace) -> dict[str, pipeline.Pack]:
    """Every demo pack by its plan's file name, not written."""
    return {path.stem: pipeline.make_pack(place, path) for path in pipeline.plan_files(place)}


@pytest.fixture
def clinic_copy(demo_clinic: Path, tmp_path: Path) -> Path:
    """The demo clinic to be changed by one test."""
    folder = tmp_path / "clinic"
    shutil.copytree(demo_clinic, folder)
    return folder


@pytest.fixture
def run(monkeypatch: pytest.MonkeyPatch):
    """Call a command as a user would, in a folder: run(folder, 'build', 'plans/p-101.toml')."""

    def call(folder: Path, *arguments: str) -> Result:
        monkeypatch.chdir(folder)
        return CliRunner().invoke(main, list(arguments), catch_exceptions=False)

    return call


@pytest.fixture(scope="session")
def office() -> str:
    """LibreOffice's command. Where there is none the test is skipped, but never in CI."""
    found = shutil.which("soffice") and shutil.which("pdftoppm")
    if not found and os.environ.get("CI"):
        pytest.fail("CI must have LibreOffice and poppler; see .ci/run")
    if not found:
        pytest.skip("needs LibreOffice and poppler")
    return shutil.which("soffice") or ""


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    """A real browser. Where there is none the test is skipped, but never in CI."""
    yield from started()


@pytest.fixture(scope="session")
def espeak() -> str:
    """espeak-ng's command. Where there is none the test is skipped, but never in CI."""
    found = shutil.which("espeak-ng")
    if not found and os.environ.get("CI"):
        pytest.fail("CI must have espeak-ng; see .ci/run")
    if not found:
        pytest.skip("needs espeak-ng")
    return found


@pytest.fixture(scope="session")
def postgres() -> Iterator[Postgres]:
    """A real PostgreSQL. Where there is none the test is skipped, but never in CI."""
    programs = postgres_programs() if find_spec("psycopg") else None
    if not programs and os.environ.get("CI"):
        pytest.fail("CI must have PostgreSQL's server programs and psycopg; see .ci/run")
    if not programs:
        pytest.skip("needs PostgreSQL's server programs and psycopg")
    with running_postgres(programs) as running:
        yield running


@pytest.fixture(params=["sqlite", ON_POSTGRES])
def register_url(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[str]:
    """Where a register may be made: an SQLite file that is not there yet, or an empty database."""
    if request.param == "sqlite":
        yield f"sqlite:///{tmp_path / 'register.sqlite'}"
    else:
        with request.getfixturevalue("postgres").empty_database() as url:
            yield url


@pytest.fixture
def register(register_url: str) -> Iterator[Register]:
    """An empty register, in both databases in turn."""
    opened = open_register(register_url, create=True)
    assert opened
    yield opened
    opened.engine.dispose()


# --- processors -----------------------------------------------------------------------------------

MOST = 8
"""Processes at once. Each makes the demo's packs for itself, so more of them gain little."""


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_auto_num_workers(config: pytest.Config) -> int:
    """All tests on every processor; some that are named in this very process, where a debugger works and
    nothing need be started."""
    chosen = config.args_source is not config.ArgsSource.TESTPATHS or config.option.keyword
    return 0 if chosen else min(len(os.sched_getaffinity(0)), MOST)


# --- tests that take long -------------------------------------------------------------------------

LONG = 1.0
"""Seconds of processor, of the test and of the processes it starts. A test over it says why: in its
docstring, or as the reason of its `slow` mark."""
_NO_REASON = "took long without a reason"


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    bare = {i.nodeid for i in items for mark in i.iter_markers("slow") if not mark.args}
    if bare:
        raise pytest.UsageError("a slow mark says why: @pytest.mark.slow('…'). Not so: " + ", ".join(bare))


def _processor() -> float:
    return sum(os.times()[:4])


@pytest.hookimpl(wrapper=True)
def pytest_runtest_call(item: pytest.Item) -> Iterator[None]:
    before = _processor()
    try:
        return (yield)
    finally:
        took = _processor() - before
        if took > LONG and not item.obj.__doc__ and not item.get_closest_marker("slow"):  # type: ignore[attr-defined]
            item.user_properties.append((_NO_REASON, f"{took:.1f} s  {item.nodeid}"))


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    reports = terminalreporter.getreports("passed")
    told = {text for r in reports for name, text in r.user_properties if name == _NO_REASON}
    if told:
        terminalreporter.section(f"over {LONG:.0f} s of processor without a reason (see tests/conftest.py)")
        for line in sorted(told, key=lambda text: -float(text.split()[0])):
            terminalreporter.line(line)
