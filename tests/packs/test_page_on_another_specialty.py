"""The page on another specialty, followed word for word: what it says to write gives a whole pack of its own.

Nothing is added here: every file of the clinic is taken out of the page.
"""

from __future__ import annotations

import json
import re
from datetime import date
from pathlib import Path

import pytest
from theirs import FIELD_WORDS, words_of

from consentpack import pipeline
from consentpack.check.lint import check_library
from consentpack.errors import ContentError
from consentpack.export.text import export_text
from consentpack.library.roots import OF_ANY_FIELD

TODAY = date(2026, 11, 28)
PAGE = Path(__file__).parents[2] / "docs" / "how-to" / "another-specialty.md"
_FILE = re.compile(r"^\$ cat > (\S+) <<'EOF'\n(.*?)^EOF$", re.MULTILINE | re.DOTALL)
FILES = dict(_FILE.findall(PAGE.read_text(encoding="utf-8")))


def written(folder: Path) -> Path:
    for name, text in FILES.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
    return folder


@pytest.fixture(scope="module")
def place(tmp_path_factory) -> pipeline.Workplace:
    return pipeline.open_workplace(written(tmp_path_factory.mktemp("page") / "ears"))


@pytest.fixture(scope="module")
def pack(place) -> pipeline.Pack:
    return pipeline.make_pack(place, place.folder / "plans/be-1.toml", today=TODAY)


def test_twelve_files_are_enough():
    assert len(FILES) <= 12, sorted(FILES)


def test_the_field_has_a_stratum_of_its_own_and_none_of_ours(place):
    ours = pipeline.open_library(None).field.strata
    assert set(place.library.field.strata) == {"wax"} and not set(ours) & {"wax"}
    assert check_library(place.library, place.scorer, today=TODAY) == []


def test_a_whole_pack_is_made_in_words_of_its_own(pack):
    kinds = [document.kind for document in pack.documents]
    assert kinds == ["form", "booklet", "aftercare", "homecare", "diary", "slips", "record", "talk-back"]
    assert pack.scores and all(score.over == () for score in pack.scores)
    ours = pipeline.open_library(None)
    titles = {m.title for folder, m in ours.modules() if folder != "documents"} - {"No treatment"}
    for document in pack.documents:
        text = export_text(document)
        assert not words_of(text) & FIELD_WORDS, document.kind
        assert [t for t in titles if re.search(rf"\b{re.escape(t)}\b", text)] == []
    form = export_text(pack.documents[0])
    assert "I know that no one can promise how well I will hear." in form
    assert "A hurt ear drum" in form and "leaving the wax; drops of oil" in form.lower()
    record = next(document for document in pack.documents if document.kind == "record")
    assert "how hard the wax is" in export_text(record).lower()


def test_what_went_in_is_the_clinics_and_of_ours_only_what_belongs_to_no_field(pack):
    inputs = json.loads(pack.files["manifest.json"])["inputs"]
    assert {name.split("/")[1] for name in inputs if name.startswith("content/")} <= {*OF_ANY_FIELD}


def test_the_page_is_found():
    index = (PAGE.parents[1] / "index.md").read_text(encoding="utf-8")
    assert f"(how-to/{PAGE.name})" in index


# --- tables that a field says it has nothing in ---------------------------------------------------


def test_a_table_that_is_missing_and_not_named_is_taken_for_lost(tmp_path):
    folder = written(tmp_path / "ears")
    path = folder / "content/field.toml"
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace('"suitability.toml", ', ""), encoding="utf-8")
    with pytest.raises(ContentError) as caught:
        pipeline.open_workplace(folder)
    assert "ears/content/suitability.toml: this table is not there." in str(caught.value)
    assert "name it in nothing_in of field.toml" in str(caught.value)


def test_a_table_that_is_named_and_is_there_is_a_contradiction(tmp_path):
    folder = written(tmp_path / "ears")
    (folder / "content/waits.toml").write_text("# nothing yet\n", encoding="utf-8")
    with pytest.raises(ContentError, match=r"waits\.toml: field\.toml says that there is nothing in this"):
        pipeline.open_workplace(folder)


def test_only_tables_of_a_field_can_be_named_and_neither_of_the_two_that_make_one(tmp_path):
    folder = written(tmp_path / "ears")
    path = folder / "content/field.toml"
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace('"waits.toml"', '"regions.toml"'), encoding="utf-8")
    with pytest.raises(ContentError, match=r"'nothing_in'.*regions\.toml"):
        pipeline.open_workplace(folder)
