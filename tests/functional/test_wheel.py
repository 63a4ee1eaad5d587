"""The built wheel carries content, locales and demo, and runs from anywhere."""

from __future__ import annotations

import os
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def installed(tmp_path_factory) -> Path:
    """A folder with nothing but the installed wheel in it; no network is used."""
    out, target = tmp_path_factory.mktemp("dist"), tmp_path_factory.mktemp("site")
    build = [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", str(out)]
    subprocess.run(build, cwd=ROOT, check=True, capture_output=True)
    (wheel,) = out.glob("*.whl")
    with zipfile.ZipFile(wheel) as archive:
        archive.extractall(target)
    return target


@pytest.mark.slow("builds a wheel, and the demo in a new process")
def test_the_installed_wheel_makes_the_demo_from_another_folder(installed, tmp_path):
    environ = os.environ | {"PYTHONPATH": str(installed)}
    code = "import consentpack, sys; print(consentpack.__file__)"
    where = subprocess.run(
        [sys.executable, "-c", code],
        cwd=tmp_path, env=environ, capture_output=True, text=True, check=True,
    )  # fmt: skip
    assert where.stdout.startswith(str(installed)), "the checkout was run instead of the wheel"
    done = subprocess.run(
        [sys.executable, "-m", "consentpack", "demo", "d"],
        cwd=tmp_path, env=environ, capture_output=True, text=True,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    assert (tmp_path / "d/packs/HS-P-101/booklet.docx").is_file()


@pytest.mark.parametrize("name", ["content/risks/bruising.md", "locales/README.md", "examples/README.md"])
def test_the_wheel_carries_what_is_not_python(installed, name):
    assert (installed / "consentpack/_shipped" / name).is_file()


def test_the_wheel_names_its_licence(installed):
    (metadata,) = installed.glob("*.dist-info/METADATA")
    assert "License-Expression: GPL-3.0-or-later" in metadata.read_text()
    assert list(installed.glob("*.dist-info/licenses/docs/LICENSE.txt"))
