"""A desk on a copy of the invented clinic, asked without a network: WSGI from end to end."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import pytest
from desk.asking import HOST, Asking

from consentpack import pipeline
from consentpack.desk.app import create_app
from consentpack.desk.guard import Keys
from consentpack.pipeline import copy_demo


@pytest.fixture(scope="session")
def demo_folder(tmp_path_factory) -> Path:
    """The demo's clinic folder with its audit imported; nobody changes it."""
    folder = tmp_path_factory.mktemp("desk") / "clinic"
    copy_demo(folder)
    return folder


@pytest.fixture
def clinic(demo_folder, tmp_path) -> Path:
    """A copy of it that a test may change."""
    import shutil

    return Path(shutil.copytree(demo_folder, tmp_path / "clinic"))


@pytest.fixture(scope="session")
def audited_register(demo_folder, tmp_path_factory) -> Path:
    """The register of the demo's audit."""
    import shutil

    folder = Path(shutil.copytree(demo_folder, tmp_path_factory.mktemp("audited") / "clinic"))
    place = pipeline.open_workplace(folder)
    pipeline.import_audit(place, folder / "audit.csv", now=datetime.now(), by="test")
    return folder / "register.sqlite"


@pytest.fixture
def audited(clinic, audited_register) -> Path:
    """The copy of the clinic with its audit imported."""
    import shutil

    shutil.copy2(audited_register, clinic / "register.sqlite")
    return clinic


@pytest.fixture
def keys() -> Keys:
    return Keys()


@pytest.fixture
def locked_desk(clinic, keys) -> Asking:
    """The desk before its link was opened."""
    said: list[str] = []
    app = create_app(clinic, keys=keys, hosts=lambda: frozenset({HOST}), say=said.append)
    return Asking(app.test_client(), said)


@pytest.fixture
def desk(locked_desk, keys) -> Asking:
    """The desk as the browser has it that opened its link."""
    locked_desk.get(f"/enter/{keys.new_link()}")
    return locked_desk
