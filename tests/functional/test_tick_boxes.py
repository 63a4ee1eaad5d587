"""What a patient ticks is content: worded in tick_boxes.toml, by a clinic too where it wants."""

from __future__ import annotations

from pathlib import Path

import pytest

from consentpack import shipped
from consentpack.assemble import signing
from consentpack.library import load_library
from consentpack.library.ticks_table import TICKS

PLAN = "plans/p-101.toml"
SHIPPED = load_library(shipped.content()).ticks


def write(clinic, text: str) -> None:
    (clinic / "content").mkdir(exist_ok=True)
    (clinic / "content/tick_boxes.toml").write_text(text, encoding="utf-8")


def test_every_line_is_worded_and_none_of_it_stands_in_the_program():
    assert set(SHIPPED) == {tag for tags in TICKS.values() for tag in tags}
    code = Path(signing.__file__).read_text(encoding="utf-8")
    assert not [tick.words for tick in SHIPPED.values() if f'"{tick.words}"' in code]


def test_a_clinic_words_a_line_anew_and_the_others_stay(run, clinic_copy):
    write(clinic_copy, '[had]\nquestions = "asked all I wanted to ask"\n')
    said = run(clinic_copy, "build", PLAN, "--show", "tree").stdout
    assert "asked all I wanted to ask" in said
    assert SHIPPED["questions"].words not in said and SHIPPED["read"].words in said
    status = run(clinic_copy, "library", "status").stdout
    assert "tables/tick-boxes" in status  # a clinician signs it, as any other text of the clinic's own


def test_as_shipped_there_is_nothing_to_be_signed(run, clinic_copy):
    assert "tick-boxes" not in run(clinic_copy, "library", "status").stdout


def test_a_line_of_the_clinics_own_is_to_be_translated_and_makes_a_draft_until_it_is(run, clinic_copy):
    write(clinic_copy, '[no]\nno-copy = "a copy of this paper to keep"\n')
    refused = run(clinic_copy, "build", PLAN, "--language", "pl")
    assert refused.exit_code == 12 and "a copy of this paper to keep" in refused.stderr
    run(clinic_copy, "translate", "update", "pl", "--clinic", str(clinic_copy))
    kept = (clinic_copy / "locales/pl/LC_MESSAGES/clinic.po").read_text(encoding="utf-8")
    assert 'msgid "a copy of this paper to keep"' in kept and "clinic/content/tick_boxes.toml:2" in kept


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("[hat]\n", "line 1: there is no table [hat].\n  Did you mean 'had'?"),
        ('[had]\nrisk = "x"\n', "line 2: there is no key 'risk' in [had].\n  Did you mean 'risks'?"),
        ('[had]\nrisks = " "\n', "line 2: 'risks' is empty."),
        ('[yes]\n\nstudents = "a {student}"\n', "line 3: 'students' holds a bracket { or }."),
        ("had = 1\n", "line 1: 'had' should be a table; it is 1."),
    ],
)
def test_a_slip_is_said_with_its_line(run, clinic_copy, text, said):
    write(clinic_copy, text)
    result = run(clinic_copy, "library", "check")
    assert result.exit_code == 10 and f"clinic/content/tick_boxes.toml, {said}" in result.stderr


def test_what_is_shipped_lacks_no_line(tmp_path):
    import shutil

    from consentpack.errors import ContentError

    shutil.copytree(shipped.content(), tmp_path / "content")
    table = tmp_path / "content/tick_boxes.toml"
    lines = table.read_text(encoding="utf-8").splitlines(keepends=True)
    table.write_text("".join(each for each in lines if not each.startswith("only-if")), encoding="utf-8")
    with pytest.raises(ContentError, match="the line 'only-if' is missing in \\[signing\\]"):
        load_library(tmp_path / "content")
