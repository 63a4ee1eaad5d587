"""Fields of medicine that are shipped beside the usual one: a clinic picks one, and has nothing of another.

Clinics and figures are invented; the telephone numbers are from the range that is kept for drama.
"""

from __future__ import annotations

import csv
import json
import re
import shutil
import subprocess
import sys
from datetime import date, datetime
from pathlib import Path

import pytest
from theirs import words_of

import consentpack
from consentpack import pipeline, shipped
from consentpack.catalogues import available
from consentpack.check.lint import check_library
from consentpack.errors import ClinicError, ContentError
from consentpack.export.text import export_text
from consentpack.library import load_library
from consentpack.library.roots import OF_A_FIELD, OF_ANY_FIELD, USUAL, fields_there
from consentpack.pipeline import staleness
from consentpack.pipeline.place import scorer_of

TODAY, NOW = date(2026, 11, 28), datetime(2026, 11, 28, 9, 0)
USUAL_FIELD = load_library(shipped.content())
FIELDS = shipped.fields()
OTHERS_WORDS = {
    "joint-injections": frozenset(
        {"knee", "elbow", "wrist", "shoulder", "tendon", "tendons", "heel", "steroid", "cartilage"}
    )
}
"""Field -> words that its texts cannot do without, and the program can. 'Joint' is none: figures have a joint
base."""


def library_of(field: str):
    return load_library(shipped.content(), field=field)


def test_there_is_a_second_field_and_the_usual_one_stands_first():
    assert FIELDS == ("joint-injections",) and set(OTHERS_WORDS) == set(FIELDS)
    there = fields_there(shipped.content())
    assert list(there) == [USUAL, *FIELDS]
    assert there[USUAL] == USUAL_FIELD.field.name
    assert all(there[name] == library_of(name).field.name for name in FIELDS)


@pytest.mark.parametrize("field", FIELDS)
def test_a_field_is_whole_and_small(field):
    library = library_of(field)
    assert len(library.treating) >= 6 and len(library.anaesthetics) >= 1
    assert len(library.risks) >= 12 and len(library.benefits) >= 4
    assert library.field.strata and len(library.field.indications) >= 6 and library.suitability
    assert any(option.no_treatment for option in library.options.values())
    assert {warning.tier for warning in library.warnings.values()} == {
        "ambulance", "at-once", "same-day", "at-visit"
    }  # fmt: skip
    assert any(technique.standing == "newer" for technique in library.techniques.values())
    assert len(library.published) >= 12
    assert check_library(library, scorer_of(library), today=TODAY) == []


@pytest.mark.parametrize("field", FIELDS)
def test_of_the_usual_field_only_what_belongs_to_no_field_is_read(field):
    library = library_of(field)
    own = {name for name in library.digests if name.startswith(f"content/fields/{field}/")}
    rest = {name.split("/")[1] for name in set(library.digests) - own}
    assert rest == {*OF_ANY_FIELD}
    assert {name.split("/")[3] for name in own} >= {*OF_A_FIELD, "techniques", "risks"}
    assert library.shipped_field == field and USUAL_FIELD.shipped_field == ""
    for folder in ("techniques", "risks", "benefits", "options", "factors", "aftercare", "warnings"):
        assert all(module.file in own for module in library.kind(folder).values())
    assert "barikbin2017" in USUAL_FIELD.sources and "barikbin2017" not in library.sources
    assert not set(library.field.strata) & set(USUAL_FIELD.field.strata)


@pytest.mark.parametrize("field", FIELDS)
def test_each_printed_figure_names_a_source_that_can_be_found(field):
    library = library_of(field)
    for rate in library.published:
        source = library.sources[rate.source]
        assert source.get("DOI") or source.get("PMID") or source.get("volume"), rate.id
        assert rate.population and rate.follow_up and rate.caveat, rate.id
        assert rate.events is not None or rate.percent is not None, rate.id


@pytest.mark.parametrize("field", FIELDS)
def test_no_word_of_the_field_stands_in_the_program(field):
    root = Path(consentpack.__file__).parent
    found = [
        f"{path.relative_to(root)}, line {number}"
        for path in root.rglob("*.py")
        for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), start=1)
        if words_of(line) & OTHERS_WORDS[field] and not path.as_posix().endswith("advice/forms.py")
    ]  # forms.py: nouns of the body that may follow a verb in any advice, a list of general English
    assert found == []


def test_a_word_of_the_second_field_would_be_found():
    assert words_of("class KneeWrist: ...") & OTHERS_WORDS["joint-injections"] == {"knee", "wrist"}


# --- its demo -------------------------------------------------------------------------------------


@pytest.fixture(scope="module", params=FIELDS)
def demo(request, tmp_path_factory) -> pipeline.Workplace:
    """The invented clinic of a field, with its audit. Shared: tests that change it copy it first."""
    folder = pipeline.copy_demo(tmp_path_factory.mktemp("field") / "clinic", request.param)
    place = pipeline.open_workplace(folder)
    result, aside = pipeline.import_audit(place, folder / "audit.csv", now=NOW, by="tests")
    assert 150 <= result.added <= 300 and aside is None
    return place


def test_its_packs_have_every_document_in_the_targets_and_nothing_of_the_usual_field(demo):
    ours = {technique.title for technique in USUAL_FIELD.techniques.values()}
    for path in pipeline.plan_files(demo):
        pack = pipeline.make_pack(demo, path, today=TODAY)
        kinds = [document.kind for document in pack.documents]
        assert kinds[:4] == ["form", "booklet", "aftercare", "homecare"] and "record" in kinds
        assert pack.scores and all(score.over == () for score in pack.scores)
        for document in pack.documents:
            text = export_text(document)
            assert not words_of(text) & {"scar", "scars", "acne"}
            assert [title for title in ours if title in text] == []
        inputs = json.loads(pack.files["manifest.json"])["inputs"]
        named = {name for name in inputs if name.startswith("content/fields/")}
        assert len(named) > 40


def test_a_demo_says_everywhere_that_it_is_invented(demo):
    settings = (demo.folder / "clinic.toml").read_text(encoding="utf-8")
    assert demo.clinic.invented and "are evidence of nothing" in settings
    # Ofcom keeps 020 7946 0000 to 0999 for drama (from memory)
    assert re.findall(r'phone\w* = "(.*)"', settings) == ["020 7946 0401", "020 7946 0499"]
    for path in pipeline.plan_files(demo):
        assert "Invented patient" in path.read_text(encoding="utf-8")


def test_a_sheet_is_written_again_as_it_lies_there(tmp_path):
    folder = shipped.demo_clinic(FIELDS[0])
    script = folder.parent / "make_joint_audit.py"
    subprocess.run([sys.executable, script, tmp_path / "audit.csv"], check=True)
    assert (tmp_path / "audit.csv").read_bytes() == (folder / "audit.csv").read_bytes()
    with (tmp_path / "audit.csv").open(encoding="utf-8") as file:
        assert 150 <= len(list(csv.DictReader(file))) <= 300


def test_a_module_of_the_field_can_be_taken_and_changed(demo, tmp_path):
    """Takes a second: the library is read twice."""
    folder = tmp_path / "clinic"
    shutil.copytree(demo.folder, folder)
    place = pipeline.open_workplace(folder)
    id = next(iter(place.library.risks))
    path = pipeline.copy_module(place, f"risks/{id}")
    assert path.read_bytes() == (shipped.content().parent / place.library.risks[id].file).read_bytes()
    path.write_text(path.read_text(encoding="utf-8").replace('title = "', 'title = "Our '), encoding="utf-8")
    changed = pipeline.open_workplace(folder).library.risks[id]
    assert changed.title.startswith("Our ") and changed.file == f"clinic/content/risks/{id}.md"


def test_tables_of_the_field_are_among_those_whose_change_makes_a_given_pack_stale(demo):
    pack = pipeline.make_pack(demo, pipeline.plan_files(demo)[0], today=TODAY)
    inputs = json.loads(pack.files["manifest.json"])["inputs"]
    own = f"content/fields/{demo.library.shipped_field}/"
    for table in set(staleness.RULES) & set(OF_A_FIELD):
        assert list(staleness._tables(inputs, table)) == [f"{own}{table}"]


def test_what_a_clinic_does_without_is_switched_off_in_a_field_too(tmp_path):
    """A source that only a rule still names is named: the check took it for a leftover."""
    folder = pipeline.copy_demo(tmp_path / "clinic", "joint-injections")
    path = folder / "clinic.toml"
    named = 'field = "joint-injections"'
    off = ["techniques/heel-steroid", "options/heel-pads"]
    text = path.read_text(encoding="utf-8").replace(named, f"{named}\nwithout = {json.dumps(off)}")
    path.write_text(text, encoding="utf-8")
    place = pipeline.open_workplace(folder)
    assert place.library.without >= {*off} and "heel-steroid" not in place.library.techniques
    assert check_library(place.library, place.scorer, today=TODAY) == []


# --- its translations -----------------------------------------------------------------------------


def languages(field: str) -> list[str]:
    return available(shipped.locales_for(field)[:1])


@pytest.mark.parametrize("field", FIELDS)
def test_a_field_is_there_in_a_language_beside_english_with_nothing_left_and_nothing_fuzzy(field):
    texts = pipeline.texts(None, field=field)
    assert languages(field) == ["es"] and len(texts.messages) > 400
    for stand in pipeline.translation_status(texts, ()):
        assert (stand.percent, stand.fuzzy, stand.missing, stand.obsolete) == (100.0, 0, [], 0), stand
    assert pipeline.check_translations(texts, ()) == []


@pytest.mark.parametrize("field", FIELDS)
def test_its_catalogue_holds_its_own_texts_and_all_others_stay_where_they_are(field):
    texts, shared = pipeline.texts(None, field=field), pipeline.texts(None)
    own = f"content/fields/{field}/"
    assert all(any(file.startswith(own) for file, _ in message.places) for message in texts.messages)
    assert not any(file.startswith("content/fields/") for m in shared.messages for file, _ in m.places)


def test_a_pack_in_that_language_has_every_word_in_it_and_meets_its_targets(demo, tmp_path):
    """Takes seconds: packs in two languages."""
    for path in pipeline.plan_files(demo):
        for language in languages(demo.library.shipped_field):
            pack = pipeline.make_pack(demo, path, language=language, today=TODAY)
            assert pack.scores and all(score.over == () for score in pack.scores)
            manifest = json.loads(pack.files["manifest.json"])
            names = {name for name in manifest["inputs"] if name.startswith("locales: ")}
            assert f"locales: {demo.library.shipped_field}.po" in names and "locales: consentpack.po" in names
            form = export_text(next(each for each in pack.documents if each.kind == "form"))
            assert "Sé que nadie puede prometer cuánto menos me va a doler." in form


def test_a_language_the_field_is_not_in_is_said_at_the_start(run, tmp_path):
    result = started(run, tmp_path, field="joint-injections", languages="en-GB,pl")
    assert result.exit_code == 14
    assert "There is no translation for 'pl' yet. There are: es." in result.stderr


# --- what is wrong --------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        (
            'field = "joint-injections"',
            'field = "joint-injection"',
            "clinic.toml, line 15: there is no field 'joint-injection' here.\n"
            "  Did you mean 'joint-injections'?",
        ),
        ('invented = true', 'invented = true\nfield = "own"', "[clinic] says that the clinic has its own"),
        ('field = "joint-injections"', "field = 3", "there is no field 3 here"),
    ],
)  # fmt: skip
def test_a_field_that_is_not_there_is_refused_before_another_is_read(tmp_path, old, new, said):
    folder = pipeline.copy_demo(tmp_path / "clinic", "joint-injections")
    path = folder / "clinic.toml"
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), encoding="utf-8")
    with pytest.raises(ClinicError, match=re.escape(said)):
        pipeline.open_workplace(folder)


def test_a_field_that_has_lost_a_table_is_refused(tmp_path):
    """Read as empty, a lost table of what must not be done would allow all."""
    shutil.copytree(shipped.content(), tmp_path / "content")
    (tmp_path / "content/fields/joint-injections/suitability.toml").unlink()
    with shipped.standing_in(tmp_path), pytest.raises(ContentError) as caught:
        library_of("joint-injections")
    assert "content/fields/joint-injections/suitability.toml: this table is not there." in str(caught.value)


def test_a_folder_of_fields_belongs_to_the_program_alone(tmp_path):
    (tmp_path / "content/fields/mine").mkdir(parents=True)
    with pytest.raises(ContentError, match="content/fields: this is nothing the library knows"):
        load_library(shipped.content(), tmp_path / "content")


# --- commands -------------------------------------------------------------------------------------

GIVEN = {
    "name": "Alder Lane Clinic (invented)",
    "address": "2 Alder Lane, Example Town",
    "phone": "020 7946 0102",
    "out-of-hours": "020 7946 0198",
    "rules": "uk-treatment",
}


def started(run, folder: Path, **more: str):
    given = [word for key, value in {**GIVEN, **more}.items() for word in (f"--{key}", value)]
    return run(folder, "start", "c", "--yes", *given)


@pytest.mark.parametrize("field", FIELDS)
def test_a_clinic_of_the_field_is_started_and_makes_its_first_pack(run, tmp_path, field):
    """Takes seconds: a start tries its first plan."""
    made = started(run, tmp_path, field=field)
    assert made.exit_code == 0, made.stderr
    settings = (tmp_path / "c/clinic.toml").read_text(encoding="utf-8")
    assert f'\nfield = "{field}"\n' in settings
    built = run(tmp_path / "c", "build", "first-plan")
    assert built.exit_code == 0, built.stderr
    assert run(tmp_path / "c", "library", "check", "--today", "2026-11-28").exit_code == 0


def test_the_usual_field_is_started_as_ever(run, tmp_path):
    """Takes seconds: a start tries its first plan."""
    assert started(run, tmp_path, field="usual").exit_code == 0
    assert "\nfield =" not in (tmp_path / "c/clinic.toml").read_text(encoding="utf-8")


def test_a_misspelt_field_is_said_and_nothing_is_written(run, tmp_path):
    result = started(run, tmp_path, field="joint-injection")
    assert result.exit_code == 14 and "Did you mean 'joint-injections'?" in result.stderr
    result = run(tmp_path, "demo", "d", "--field", "joint-injection")
    assert result.exit_code == 14 and "Did you mean 'joint-injections'?" in result.stderr
    result = run(tmp_path, "translate", "status", "--field", "joint-injection")
    assert result.exit_code != 0 and "Did you mean 'joint-injections'?" in result.stderr
    assert list(tmp_path.iterdir()) == []
