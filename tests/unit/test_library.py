"""The library: two folders read as one, checked as a whole. Mistakes are in test_bad_content.py.

Clinics, modules and figures here are invented.
"""

from __future__ import annotations

import json
import re
import shutil
from pathlib import Path

import pytest

from consentpack import shipped
from consentpack.assemble.document import BUILDERS
from consentpack.errors import ContentError
from consentpack.library import KINDS, load_library
from consentpack.library.frontmatter import digest_of, split
from consentpack.library.modules import blocks_of, slug
from consentpack.library.schema import COMMON, DIRECTIVES, PLACEHOLDERS, SCHEMA
from consentpack.library.tables import RATE_COLUMNS, published, settings, sources
from consentpack.tree import Inline

BRUISING = shipped.content() / "risks" / "bruising.md"


@pytest.fixture(scope="module")
def library():
    return load_library(shipped.content())


@pytest.fixture
def own(tmp_path) -> Path:
    """A clinic's own content folder, with its own words on bruising."""
    folder = tmp_path / "my-clinic" / "content"
    (folder / "risks").mkdir(parents=True)
    text = BRUISING.read_text(encoding="utf-8")
    (folder / "risks/bruising.md").write_text(text.replace('"Bruising"', '"A bruise"'), encoding="utf-8")
    return folder


# --- the shipped library ------------------------------------------------------------------


def test_every_kind_of_module_is_there_with_unlike_ids(library):
    for folder in KINDS:
        assert library.kind(folder), folder
        assert list(library.kind(folder)) == sorted(library.kind(folder)), folder


def test_every_file_of_content_is_read_and_has_a_digest(library):
    here = shipped.content()
    files = {f"content/{path.relative_to(here)}" for path in here.rglob("*.*")}
    files -= {name for name in files if name.startswith("content/fields/")}  # other fields, each by itself
    assert set(library.digests) == files


def test_a_digest_is_the_sha256_anyone_can_repeat(library):
    """As `sha256sum content/risks/bruising.md` prints it, with line feeds as line ends."""
    assert library.risks["bruising"].digest == digest_of(BRUISING.read_text(encoding="utf-8"))
    assert digest_of("abc") == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    # source of the line above: FIPS 180-2, appendix B.1, the SHA-256 of "abc" (as `sha256sum` gives it)


def test_every_place_of_words_is_the_line_they_stand_on(library):
    for _, module in library.modules():
        lines = (shipped.content().parent / module.file).read_text(encoding="utf-8").splitlines()
        for block in blocks_of(module):
            for item in block.items:
                assert item.text.split()[0] in lines[item.line - 1], f"{module.file}, line {item.line}"


def test_risks_and_benefits_together_are_what_an_audit_counts(library):
    assert set(library.outcomes) == set(library.risks) | set(library.benefits)
    assert library.outcome("bruising") is library.risks["bruising"]
    assert library.outcome("shallower-scar") is library.benefits["shallower-scar"]


def test_no_risk_and_benefit_share_an_id(library):
    """One would hide the other, and its figure would be printed for it."""
    assert not set(library.risks) & set(library.benefits)


def test_techniques_are_listed_by_kind(library):
    anaesthetics = library.anaesthetics
    assert "local-infiltration" in anaesthetics and "blunt-cannula" not in anaesthetics
    assert {*library.treating, *library.anaesthetics} == set(library.techniques)


def test_every_directive_has_a_part_and_every_part_a_directive():
    assert set(BUILDERS) == set(DIRECTIVES)


def test_every_directive_is_used_by_a_shipped_document(library):
    used = {
        block.items[0].text
        for document in library.documents.values()
        for block in blocks_of(document)
        if block.kind == "directive"
    }
    assert used == set(DIRECTIVES)


def test_every_kind_has_its_keys_as_fields_of_what_it_becomes():
    for folder, kind in SCHEMA.items():
        fields = KINDS[folder].__dataclass_fields__
        assert not (set(COMMON) | set(kind.keys)) - {"when"} - set(fields), folder


# --- the clinic's own content -------------------------------------------------------------


def test_the_clinics_own_file_takes_the_place_of_ours_by_id(own, library):
    both = load_library(shipped.content(), own)
    assert both.risks["bruising"].title == "A bruise"
    assert both.risks["bruising"].file == "my-clinic/content/risks/bruising.md"
    assert both.risks["bruising"].digest != library.risks["bruising"].digest
    assert both.risks["swelling"] == library.risks["swelling"]
    assert set(both.risks) == set(library.risks)


def test_a_clinic_may_add_a_module_and_ours_may_name_it(own):
    text = BRUISING.read_text(encoding="utf-8").replace('id = "bruising"', 'id = "scarf-rash"')
    (own / "risks/scarf-rash.md").write_text(text, encoding="utf-8")
    assert "scarf-rash" in load_library(shipped.content(), own).risks


def test_a_clinics_row_of_published_rates_takes_the_place_of_ours_by_id(own, library):
    ours = library.published[0]
    row = f'{ours.id},{ours.technique},{ours.outcome},,1,50,people,,invented,,{ours.source},memory,"mine"\n'
    (own / "published_rates.csv").write_text(f"{','.join(RATE_COLUMNS)}\n{row}", encoding="utf-8")
    both = load_library(shipped.content(), own)
    assert [rate.caveat for rate in both.published if rate.id == ours.id] == ["mine"]
    assert len(both.published) == len(library.published)


def test_a_clinic_may_add_sources_settings_and_terms(own, library):
    (own / "sources.json").write_text('[{"id": "mine", "title": "Invented"}]', encoding="utf-8")
    (own / "settings.toml").write_text(
        '[scarf_time]\ndefault = 5\nlowest = 1\nhighest = 9\nunit = "days"\n', encoding="utf-8"
    )
    (own / "glossary.toml").write_text(
        '[[term]]\nclinical = "pruritus"\nplain = "itch"\nexplain = "A wish to scratch."\n', encoding="utf-8"
    )
    both = load_library(shipped.content(), own)
    assert set(both.sources) == {"mine", *library.sources}
    assert both.settings["scarf_time"].value == 5
    assert "pruritus" in {term.clinical for term in both.terms}


def test_a_changed_file_is_never_served_from_memory(own):
    assert load_library(shipped.content(), own).risks["bruising"].title == "A bruise"
    path = own / "risks/bruising.md"
    path.write_text(path.read_text(encoding="utf-8").replace("A bruise", "Bruises"), encoding="utf-8")
    assert load_library(shipped.content(), own).risks["bruising"].title == "Bruises"


def test_a_clinic_without_its_own_content_has_ours(tmp_path, library):
    assert load_library(shipped.content(), tmp_path / "content") == library


def test_hidden_files_of_an_editor_or_system_are_passed_over(own):
    (own / ".DS_Store").write_bytes(b"\x00")
    (own / "risks/.bruising.md.swp").write_bytes(b"\x00")
    assert load_library(shipped.content(), own).risks["bruising"].title == "A bruise"


def test_without_any_content_folder_the_place_is_named(tmp_path):
    with pytest.raises(ContentError) as caught:
        load_library(tmp_path / "nowhere")
    assert str(caught.value) == f"{tmp_path / 'nowhere'}: there is no content folder here."


def test_line_ends_of_windows_change_neither_words_nor_digest(own, library):
    shutil.copy(BRUISING, own / "risks/bruising.md")
    path = own / "risks/bruising.md"
    path.write_bytes(b"\xef\xbb\xbf" + path.read_bytes().replace(b"\n", b"\r\n"))
    both = load_library(shipped.content(), own)
    assert both.risks["bruising"].sections == library.risks["bruising"].sections
    assert both.risks["bruising"].digest == library.risks["bruising"].digest
    assert digest_of("one\r\ntwo\r\n") == digest_of("one\ntwo\n")


# --- single files -------------------------------------------------------------------------


def test_a_file_is_taken_apart_with_its_lines():
    raw, problems = split('+++\nid = "x"\n+++\n\nWords.\n', file="x.md")
    assert problems == []
    assert raw.front == {"id": "x"}
    assert raw.body.splitlines()[5 - raw.body_line] == "Words."
    assert raw.toml.where("id") == "x.md, line 2"


@pytest.mark.parametrize("text", ["", "Words.", "\n+++\n+++\n", '+++\nid = "x"\nWords.\n'])
def test_a_file_without_front_matter_at_its_very_top_is_refused(text):
    raw, problems = split(text, file="x.md")
    assert raw is None
    assert [problem.what for problem in problems] == ["the file does not begin with front matter."]


def test_a_heading_becomes_a_short_name():
    assert slug("What can go wrong?") == "what-can-go-wrong"


def test_an_empty_count_of_a_published_figure_is_unknown_and_not_zero():
    head = ",".join(RATE_COLUMNS)
    found, problems = published(f"{head}\na,t,o,,,28,people,,w,,s,abstract,\n", file="r.csv")
    assert problems == []
    assert (found[0].events, found[0].n, found[0].quotable) == (None, 28, False)


@pytest.mark.parametrize(("seen", "quotable"), [("abstract", True), ("secondary", False), ("memory", False)])
def test_only_a_figure_read_in_the_source_itself_may_be_quoted_to_patients(seen, quotable):
    row = f"a,t,o,,0,28,people,,w,,s,{seen},"
    found, _ = published(f"{','.join(RATE_COLUMNS)}\n{row}\n", file="r.csv")
    assert found[0].quotable is quotable
    assert found[0].events == 0  # a printed zero is a zero


def test_more_events_than_people_cannot_be():
    row = "a,t,o,,29,28,people,,w,,s,abstract,"
    found, problems = published(f"{','.join(RATE_COLUMNS)}\n{row}\n", file="r.csv")
    assert found == []
    assert [str(problem) for problem in problems] == ["r.csv, row 2: 29 events of 28 cannot be."]


@pytest.mark.parametrize("numbers", [(5, 4, 9), (5, 10, 9), ('"5"', 5, 9), (1.5, 2, 9), (True, 2, 9)])
def test_a_care_setting_lies_between_its_limits_in_whole_numbers(numbers):
    lowest, default, highest = (str(n).lower() for n in numbers)
    text = f'[x]\nlowest = {lowest}\ndefault = {default}\nhighest = {highest}\nunit = "days"\n'
    found, problems = settings(text, file="settings.toml")
    assert found == {}
    assert [problem.where for problem in problems] == ["settings.toml, [x]"]


@pytest.mark.parametrize("why", ["0x" + "f" * 5000, "7", '["a"]'])
def test_the_reason_of_a_care_setting_is_words(why):
    """Seen with damaged tables: a number too long for Python to print ended in a fault of the program."""
    text = f'[x]\ndefault = 2\nlowest = 1\nhighest = 3\nunit = "days"\nwhy = {why}\n'
    found, problems = settings(text, file="settings.toml")
    assert not found
    assert [str(problem) for problem in problems] == ["settings.toml, [x]: why should be words in quotes."]


def test_a_source_needs_an_id_and_a_title_and_comes_once():
    items = [{"id": "a"}, {"title": "t"}, "words", {"id": "b", "title": "t"}, {"id": "b", "title": "u"}]
    found, problems = sources(json.dumps(items), file="sources.json")
    assert [str(problem) for problem in problems] == [
        "sources.json, item 1: a source needs an id and a title.",
        "sources.json, item 2: a source needs an id and a title.",
        "sources.json, item 3: a source needs an id and a title.",
        "sources.json, item 5: 'b' is here twice.",
    ]
    assert found == {"b": {"id": "b", "title": "t"}}


def test_every_placeholder_in_the_shipped_words_is_one_the_schema_names(library):
    known = {*PLACEHOLDERS, *(f"care.{name}" for name in library.settings)}
    items: list[Inline] = [i for _, m in library.modules() for b in blocks_of(m) for i in b.items]
    found = {name for item in items for name in re.findall(r"\{\{ ([a-z_.]+) \}\}", item.text)}
    assert found and found <= known


# --- what is there and is no content --------------------------------------------------------------


def test_locks_and_what_a_killed_run_left_are_not_taken_for_content(own):
    for name in (".consentpack.lock", ".risks.77.part", "risks/.bruising.md.77.old", "risks/._bruising.md"):
        (own / name).write_bytes(b"\xff no text")
    made = load_library(shipped.content(), own)
    assert made.risks["bruising"].title == "A bruise"
    assert not [file for file in made.digests if "/." in file]


# --- a technique that says too little -------------------------------------------------------------


LISTS = [
    *(("local-infiltration", key) for key in ("risks", "aftercare", "warnings")),
    *(("blunt-cannula", key) for key in ("risks", "aftercare", "warnings", "benefits", "options")),
]


@pytest.mark.parametrize(("id", "key"), LISTS)
def test_a_technique_without_one_of_its_lists_is_refused(own, id, key):
    text = (shipped.content() / "techniques" / f"{id}.md").read_text(encoding="utf-8")
    text, times = re.subn(rf"^{key} = \[.*?\]$", f"{key} = []", text, count=1, flags=re.M | re.S)
    assert times == 1
    (own / "techniques").mkdir()
    (own / "techniques" / f"{id}.md").write_text(text, encoding="utf-8")
    with pytest.raises(ContentError, match=rf"techniques/{id}\.md: it lists no {key}\."):
        load_library(shipped.content(), own)
