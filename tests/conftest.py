"""What the tests share: the demo clinic made once, and the tools that need a real office program."""

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
from support import ON_POSTGRES, Postgres, postgres_programs, running_postgres

from consentpack import pipeline
from consentpack.cli import main
from consentpack.register import Register, open_register

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
