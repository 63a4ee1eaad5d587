"""A table of the library that is not there is told: read as empty, its rules would be kept by nobody."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from tiny_field import written

from consentpack import shipped
from consentpack.errors import ContentError
from consentpack.library import load_library
from consentpack.library.roots import OF_A_FIELD, OF_ANY_FIELD

TABLES = sorted(path.name for path in shipped.content().iterdir() if path.is_file())


@pytest.mark.parametrize("name", TABLES)
def test_what_is_shipped_is_not_read_without_one_of_its_tables(tmp_path, name):
    """Without suitability.toml every plan was allowed, and nobody was told."""
    content = tmp_path / "content"
    shutil.copytree(shipped.content(), content)
    (content / name).unlink()
    with pytest.raises(ContentError) as caught:
        load_library(content)
    assert f"content/{name}: this table is not there." in str(caught.value)


def test_all_that_are_missing_are_told_in_one_run(tmp_path):
    content = tmp_path / "content"
    shutil.copytree(shipped.content(), content)
    for name in ("suitability.toml", "waits.toml", "published_rates.csv"):
        (content / name).unlink()
    with pytest.raises(ContentError) as caught:
        load_library(content)
    told = [problem.where for problem in caught.value.problems if "is not there" in problem.what]
    assert told == ["content/published_rates.csv", "content/suitability.toml", "content/waits.toml"]


def test_a_folder_of_texts_that_is_missing_is_told_too(tmp_path):
    content = tmp_path / "content"
    shutil.copytree(shipped.content(), content)
    shutil.rmtree(content / "documents")
    with pytest.raises(ContentError) as caught:
        load_library(content)
    assert "content/documents: this folder is not there." in str(caught.value)


def test_a_clinics_own_content_beside_ours_may_hold_one_table_or_none(tmp_path):
    own = tmp_path / "clinic" / "content"
    own.mkdir(parents=True)
    ours = load_library(shipped.content())
    assert load_library(shipped.content(), own).suitability == ours.suitability
    shutil.copy(shipped.content() / "settings.toml", own)
    assert load_library(shipped.content(), own).waits == ours.waits


def of_its_own(folder: Path):
    return load_library(shipped.content(), folder / "content", own_field=True)


@pytest.mark.parametrize("name", [name for name in OF_A_FIELD if name != "field.toml"])
def test_a_field_of_its_own_says_of_each_table_that_it_has_nothing_in_it(tmp_path, name):
    folder = written(tmp_path)
    table = folder / "content" / name
    table.unlink()
    with pytest.raises(ContentError) as caught:
        of_its_own(folder)
    (problem,) = [each for each in caught.value.problems if "is not there" in each.what]
    assert problem.where.endswith(f"/content/{name}") and "empty" in problem.fix


def test_a_field_of_its_own_may_have_tables_with_nothing_in_them(tmp_path):
    library = of_its_own(written(tmp_path))
    assert library.suitability == {} and library.waits == {} and library.published == ()
    assert set(OF_A_FIELD) | set(OF_ANY_FIELD) - {"documents"} == set(TABLES)
