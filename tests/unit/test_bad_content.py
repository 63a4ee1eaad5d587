"""One mistake, one message: each folder of tests/bad_content/ is a clinic's own content with one
mistake in it, and expected.txt beside it holds the whole message, to the letter.

All modules and figures in those folders are invented. A new case is a new folder; nothing is to be
added here.
"""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from consentpack import shipped
from consentpack.errors import ContentError
from consentpack.library import load_library

CASES = Path(__file__).parents[1] / "bad_content"


def names() -> list[str]:
    return sorted(folder.name for folder in CASES.iterdir() if folder.is_dir())


def expected(name: str) -> str:
    return (CASES / name / "expected.txt").read_text(encoding="utf-8").rstrip("\n")


@pytest.mark.parametrize("name", names())
def test_a_mistake_in_content_is_said_with_place_finding_and_next_step(name):
    with pytest.raises(ContentError) as caught:
        load_library(shipped.content(), CASES / name / "content")
    assert str(caught.value) == expected(name)


def test_all_mistakes_of_a_folder_are_reported_in_one_run(tmp_path):
    together = [name for name in names() if list(CASES.glob(f"{name}/**/*.md"))]
    for name in together:
        shutil.copytree(CASES / name / "content", tmp_path / "clinic/content", dirs_exist_ok=True)
    with pytest.raises(ContentError) as caught:
        load_library(shipped.content(), tmp_path / "clinic/content")
    one_by_one = [expected(name).replace(f"{name}/content/", "clinic/content/") for name in together]
    assert sorted(str(caught.value).splitlines()) == sorted("\n".join(one_by_one).splitlines())
