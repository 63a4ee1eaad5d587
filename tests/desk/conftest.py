"""A desk on a copy of the invented clinic, asked without a network: WSGI from end to end."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from datetime import date, datetime
from pathlib import Path

import pytest
from browsers import started
from desk.asking import HOST, Asking
from desk.hand import Hand

from consentpack import pipeline
from consentpack.desk.app import create_app
from consentpack.desk.guard import Keys
from consentpack.desk.serving import Desk, open_desk
from consentpack.pipeline import copy_demo

SIGNED_OFF_BY = "Dr Ruth Ambrose"


@pytest.fixture(scope="session")
def demo_folder(tmp_path_factory) -> Path:
    """The demo's clinic folder with its audit imported; nobody changes it."""
    folder = tmp_path_factory.mktemp("desk") / "clinic"
    copy_demo(folder)
    return folder


@pytest.fixture(scope="session")
def approved_folder(demo_folder, tmp_path_factory) -> Path:
    """The invented clinic with its audit, its texts approved, and the first plan given on paper."""
    import shutil

    folder = tmp_path_factory.mktemp("approved") / "clinic"
    shutil.copytree(demo_folder, folder)
    place = pipeline.open_workplace(folder)
    today = date.today()
    pipeline.import_audit(place, folder / "audit.csv", now=datetime.now(), by="test")
    pipeline.approve(place, [], by=SIGNED_OFF_BY, role="skin doctor", day=today, until=None)
    place = pipeline.open_workplace(folder)
    pipeline.give(place, folder / "plans/p-101.toml", pipeline.Handing(SIGNED_OFF_BY, datetime.now()))
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


# --- a real browser ---------------------------------------------------------------------------------


@pytest.fixture(scope="session")
def browser():
    """Chromium; skipped where there is none, but never in CI."""
    yield from started()


@pytest.fixture
def served(clinic) -> Iterator[Desk]:
    """The desk of a clinic folder as people have it: on a port of this computer, until the test is done."""
    opened = open_desk(clinic, say=lambda _: None)
    thread = threading.Thread(target=opened.run, daemon=True)
    thread.start()
    yield opened
    opened.close()
    thread.join(timeout=10)


@pytest.fixture
def hand(browser, served) -> Iterator[Hand]:
    """Somebody at the desk, with its link opened; in the end nothing may stand in the browser's console."""
    found = Hand(browser, served.link)
    yield found
    assert found.console() == []
