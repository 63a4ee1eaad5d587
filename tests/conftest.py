"""What the tests share: the demo clinic made once, and the tools that need a real office program."""

from __future__ import annotations

import os
import shutil
from datetime import datetime
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from consentpack import pipeline
from consentpack.cli import main

IMPORTED = datetime(2026, 11, 25, 9, 0)
"""When the demo's audit is imported in tests: no test depends on the clock."""


@pytest.fixture(scope="session")
def demo_clinic(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The invented clinic with its audit imported. Shared: tests that change it copy it first."""
    folder = pipeline.copy_demo(tmp_path_factory.mktemp("demo") / "clinic")
    place = pipeline.open_workplace(folder)
    pipeline.import_audit(place, folder / "audit.csv", now=IMPORTED)
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
