"""`consentpack library score`: the whole library in one report, and which way it has gone."""

from __future__ import annotations

import json
from html.parser import HTMLParser

import pytest
from click.testing import CliRunner

from consentpack import pipeline
from consentpack.cli import main

HARD = (
    "Notwithstanding considerable heterogeneity, characteristic manifestations predominantly necessitate "
    "individualised multidisciplinary rehabilitation, particularly following unsatisfactory intervention. "
) * 3


ENGLISH = ("--language", "en-GB")


@pytest.fixture(scope="module")
def clinic(tmp_path_factory):
    return pipeline.copy_demo(tmp_path_factory.mktemp("score") / "clinic")


@pytest.fixture
def run(monkeypatch, clinic):
    monkeypatch.chdir(clinic)
    return lambda *arguments: CliRunner().invoke(main, ["library", "score", *arguments])


@pytest.mark.slow("the whole library in seven languages")
def test_every_module_a_patient_reads_is_in_it_and_within_its_target(run):
    result = run("--json")
    assert result.exit_code == 0
    rows = json.loads(result.stdout)
    assert {row["language"] for row in rows} == {"en-GB", "es", "pl", "ar", "vi", "zh-Hans", "fr"}
    assert len(rows) > 150 and "documents" in {row["kind"] for row in rows}
    assert not any(row["over"] for row in rows)
    assert "record" not in {row["id"] for row in rows}  # the clinician's


def test_it_may_be_asked_about_some_modules_alone(run):
    rows = json.loads(run("bruising", "techniques/microneedling", "--json", *ENGLISH).stdout)
    assert [(row["kind"], row["id"]) for row in rows] == [
        ("techniques", "microneedling"),
        ("risks", "bruising"),
    ]


def test_a_module_over_the_target_is_named_with_its_part_and_exits_with_13(run, clinic):
    own = clinic / "content/risks/bruising.md"
    own.parent.mkdir(parents=True, exist_ok=True)
    shipped = pipeline.open_library(None).risks["bruising"]
    try:
        pipeline.copy_module(pipeline.open_workplace(clinic), "risks/bruising")
        text = own.read_text(encoding="utf-8")
        own.write_text(
            text.replace("## How long it lasts\n", f"## How long it lasts\n\n{HARD}\n"), encoding="utf-8"
        )
        result = run("bruising", *ENGLISH)
        assert result.exit_code == 13
        assert "risks/bruising: grade" in result.stdout and "OVER" in result.stdout
        assert "How long it lasts" in result.stdout and "1 text read, 1 over the target." in result.stdout
    finally:
        own.unlink()
    assert shipped.title == "Bruising"


def test_the_trend_is_that_since_the_text_that_was_approved(run, clinic):
    approve = ["library", "approve", "risks/swelling", "--by", "Dr Invented", "--role", "skin doctor"]
    assert CliRunner().invoke(main, approve).exit_code == 0
    (row,) = json.loads(run("swelling", "--json", *ENGLISH).stdout)
    assert row["trend"] == 0 and row["approved_grade"] == pytest.approx(row["grade"], abs=0.01)
    own = clinic / "content/risks/swelling.md"
    try:
        pipeline.copy_module(pipeline.open_workplace(clinic), "risks/swelling")
        text = own.read_text(encoding="utf-8")
        own.write_text(
            text.replace("## How long it lasts\n", f"## How long it lasts\n\n{HARD}\n"), encoding="utf-8"
        )
        (row,) = json.loads(run("swelling", "--json", *ENGLISH).stdout)
        assert row["trend"] > 3
        assert f"+{row['trend']:.1f} since it was approved" in run("swelling").stdout
    finally:
        own.unlink()
        (clinic / "approvals.toml").unlink()


def test_the_score_beside_the_grade_is_shown_with_the_words_behind_it(run, clinic, tmp_path):
    """Takes two seconds: the words of one module in all languages, before and after."""
    own = clinic / "content/risks/swelling.md"
    (plain,) = json.loads(run("swelling", "--json", *ENGLISH).stdout)
    assert plain["beside_the_grade"]["rare_words"] == []
    try:
        pipeline.copy_module(pipeline.open_workplace(clinic), "risks/swelling")
        text = own.read_text(encoding="utf-8")
        own.write_text(
            text.replace("## How long it lasts\n", f"## How long it lasts\n\n{HARD}\n"), encoding="utf-8"
        )
        page = tmp_path / "reading.html"
        run("swelling", "--html", str(page), *ENGLISH)
        said = [line.strip() for line in run("swelling").stdout.splitlines()]
        rows = {row["language"]: row for row in json.loads(run("swelling", "--json").stdout)}
        from consentpack.cli.score import of_files

        (alone,) = of_files([own], clinic, "en-GB", advice=False)
    finally:
        own.unlink()
    (easier,) = [line for line in said if line.startswith("beside the grade: easier than ")]
    (rare,) = [line for line in said if line.startswith("rare words: ")]
    assert "heterogeneity (2.8, 3 times)" in rare
    assert f"{len(rows) - 1} texts have no score beside the grade: it is for English" in " ".join(said)
    # each number is the one that the JSON and the page have
    ours = rows["en-GB"]["beside_the_grade"]
    was = plain["beside_the_grade"]["easier_than_of_100"]
    assert all(n < was[kind] for kind, n in ours["easier_than_of_100"].items())
    assert all(f"{n} of 100" in easier for n in ours["easier_than_of_100"].values())
    assert "heterogeneity" in {word["word"] for word in ours["rare_words"]}
    assert rows["es"]["beside_the_grade"] is None
    html = page.read_text(encoding="utf-8")
    assert all(f"{n} of 100" in html for n in ours["easier_than_of_100"].values())
    assert "rare words: " in html and "heterogeneity" in html
    # and what `score` says of the same words
    assert {word.word for word in alone.ease.rare} >= {word["word"] for word in ours["rare_words"]}


def test_advice_names_places_and_effects(run):
    said = run("techniques/needle-fan-one-entry", "--advice").stdout
    assert "content/techniques/needle-fan-one-entry.md, line" in said
    assert "→" in said


class Page(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.words: list[str] = []

    def handle_starttag(self, tag, attrs):
        self.tags.append(tag)
        assert not {name for name, _ in attrs} & {"src", "onclick", "href"}, "the file needs nothing else"

    def handle_data(self, data):
        self.words.append(data)


@pytest.mark.slow("the whole library, twice")
def test_the_html_report_is_one_file_with_a_strip_of_numbers_for_each_module(run, tmp_path):
    target = tmp_path / "reading.html"
    assert run("--html", str(target), *ENGLISH).exit_code == 0
    text = target.read_text(encoding="utf-8")
    page = Page()
    page.feed(text)
    rows = json.loads(run("--json", *ENGLISH).stdout)
    assert page.tags.count("tr") == len(rows) + 1
    boxes = sum(len(row["sections"]) for row in rows)
    assert page.tags.count("li") >= boxes
    words = " ".join(page.words)
    assert all(row["title"] in words for row in rows)
    assert f"{len(rows)} texts were read; 0 miss their reading target, 0 are too long." in words
    assert "script" not in page.tags


def test_words_of_a_module_cannot_become_markup_in_the_report(run, clinic, tmp_path):
    own = clinic / "content/glossary.toml"
    own.parent.mkdir(parents=True, exist_ok=True)
    own.write_text(
        '[[term]]\nclinical = "scar"\nplain = "<b>mark</b>"\nexplain = "A mark."\n', encoding="utf-8"
    )
    try:
        run("bruising", "raised-scar", "--html", str(tmp_path / "x.html"))
        assert "<b>mark" not in (tmp_path / "x.html").read_text(encoding="utf-8")
    finally:
        own.unlink()


@pytest.mark.slow("packs of all examples")
def test_plans_may_be_part_of_the_report(run, clinic):
    from datetime import datetime

    place = pipeline.open_workplace(clinic)
    pipeline.import_audit(place, clinic / "audit.csv", now=datetime(2026, 11, 25, 9), by="test")
    rows = json.loads(run("bruising", "--plans", "--json").stdout)
    packs = [row["id"] for row in rows if row["kind"] == "packs"]
    told = {pack.split()[-1] for pack in packs}
    assert {"form", "booklet", "more", "aftercare", "homecare"} <= told and len(packs) == len(set(packs))
    for plan in ("HS-P-101", "HS-P-102", "HS-P-103", "HS-P-104"):
        assert f"{plan} form" in packs and f"{plan} aftercare" in packs
