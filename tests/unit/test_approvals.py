"""Sign-off is bound to the text: what was approved holds until it is changed or out of date.

Modules and clinicians are invented.
"""

from __future__ import annotations

import tomllib
from dataclasses import replace
from datetime import date, timedelta
from functools import partial

import pytest
from babel import Locale
from babel.messages.catalog import Catalog
from hypothesis import given
from hypothesis import strategies as st

from consentpack.approvals import (
    WARN_DAYS,
    added,
    digest_in,
    ending,
    key_of,
    load_approvals,
    not_approved,
    states,
)
from consentpack.catalogues import Catalogue
from consentpack.errors import ClinicError
from consentpack.model import Approval, Risk
from consentpack.tree import Block, Inline

TODAY = date(2026, 11, 25)
FILE = "content/risks/itch.md"
MODULE = Risk(
    id="itch", title="Itch", version="3", reviewed=date(2026, 1, 1), review_by=date(2028, 1, 1),
    sections={}, file=FILE, title_line=3, digest="d1",
    clinical="pruritus", watch_days=7, group="expected",
)  # fmt: skip
APPROVAL = Approval(
    "risks/itch", "en-GB", "d1", "Dr Invented", "skin doctor", date(2026, 1, 2), date(2027, 6, 30)
)


def state(*approvals: Approval, module: Risk = MODULE, today: date = TODAY, language: str = "en-GB") -> str:
    return states({FILE: module}, approvals, language=language, today=today)[FILE].state


def test_a_module_nobody_signed_is_not_approved():
    assert state() == "never approved"


def test_a_module_is_approved_while_its_text_is_the_one_that_was_signed():
    assert state(APPROVAL) == "approved"


def test_one_changed_letter_withdraws_the_approval():
    assert state(APPROVAL, module=replace(MODULE, digest="d2")) == "changed"


def test_going_back_to_the_signed_text_brings_the_approval_back():
    later = replace(APPROVAL, digest="d2")
    assert state(APPROVAL, later, module=replace(MODULE, digest="d2")) == "approved"
    assert state(APPROVAL, later, APPROVAL) == "approved"


def test_an_approval_in_another_language_counts_for_nothing():
    assert state(APPROVAL, language="es") == "never approved"


def test_an_approval_of_another_module_counts_for_nothing():
    assert state(replace(APPROVAL, module="benefits/itch")) == "never approved"


def test_an_approval_holds_to_the_end_of_its_last_day():
    assert state(APPROVAL, today=APPROVAL.until) == "approved"
    assert state(APPROVAL, today=APPROVAL.until + timedelta(days=1)) == "expired"


def test_an_approval_ends_with_the_modules_own_review_date_however_long_it_was_given():
    module = replace(MODULE, review_by=date(2026, 12, 1))
    assert state(APPROVAL, module=module, today=date(2026, 12, 1)) == "approved"
    assert state(APPROVAL, module=module, today=date(2026, 12, 2)) == "expired"


def test_only_the_latest_approval_counts():
    assert state(replace(APPROVAL, until=date(2026, 2, 1)), APPROVAL) == "approved"
    assert state(APPROVAL, replace(APPROVAL, until=date(2026, 2, 1))) == "expired"


def test_the_state_carries_what_the_record_prints():
    found = states({FILE: MODULE}, [APPROVAL], language="en-GB", today=TODAY)[FILE]
    assert (found.module, found.version, found.approval, found.file) == ("risks/itch", "3", APPROVAL, FILE)


@pytest.mark.parametrize("file", ["content/risks/itch.md", "my-clinic/content/risks/itch.md"])
def test_a_module_has_one_name_wherever_its_file_lies(file):
    assert key_of(file) == "risks/itch"


def test_why_a_pack_is_a_draft_is_counted_by_reason():
    modules = {f"content/risks/{name}.md": replace(MODULE, digest=name) for name in "abcde"}
    approvals = [
        replace(APPROVAL, module="risks/c", digest="old"),
        replace(APPROVAL, module="risks/d", digest="d", until=date(2026, 2, 1)),
        replace(APPROVAL, module="risks/e", digest="e"),
    ]
    assert not_approved(states(modules, approvals, language="en-GB", today=TODAY)) == [
        "2 modules never approved",
        "1 module changed since approval",
        "1 module past their date",
    ]


def test_a_pack_of_approved_modules_has_no_reason_to_be_a_draft():
    assert not_approved(states({FILE: MODULE}, [APPROVAL], language="en-GB", today=TODAY)) == []


def test_a_clinic_that_has_approved_nothing_needs_no_file(tmp_path):
    assert load_approvals(tmp_path) == ()


PRINTED = st.text(st.characters(exclude_categories=["Cc", "Cs"]))
DAYS = st.dates(min_value=date(1000, 1, 1))


@given(
    approvals=st.lists(
        st.builds(Approval, PRINTED, PRINTED, PRINTED, PRINTED, PRINTED, DAYS, DAYS), max_size=3
    )
)
def test_what_is_written_is_read_again_to_the_letter(approvals):
    """Whatever stands in a clinician's name, quotes and backslashes included."""
    found = tomllib.loads(added(approvals)).get("approval", [])
    assert [Approval(**item) for item in found] == approvals


def test_approvals_are_added_below_what_stands_there(tmp_path):
    path = tmp_path / "approvals.toml"
    other = replace(APPROVAL, module="risks/rash", by='Dr "Q" Ünsal')
    path.write_text("# who signed what\n" + added([APPROVAL]) + added([other]), encoding="utf-8")
    assert load_approvals(tmp_path) == (APPROVAL, other)


def refused(tmp_path, text: str) -> str:
    (tmp_path / "approvals.toml").write_text(text, encoding="utf-8")
    with pytest.raises(ClinicError) as caught:
        load_approvals(tmp_path)
    return str(caught.value)


def test_an_approval_with_a_missing_or_unknown_key_is_named_by_its_number(tmp_path):
    text = added([APPROVAL]) + added([APPROVAL]).replace("until", "unitl")
    assert refused(tmp_path, text) == (
        "approvals.toml, approval 2: there is no key 'unitl'.\n  Did you mean 'until'?\n"
        "approvals.toml, approval 2: the key 'until' is missing (the last day it holds)."
    )


def test_an_approvals_file_that_is_no_toml_is_refused(tmp_path):
    assert refused(tmp_path, "[[approval]\n").startswith("approvals.toml, line 1: this line is not TOML (")


def test_an_approval_with_a_date_in_quotes_is_refused(tmp_path):
    assert "approval 1" in refused(tmp_path, added([APPROVAL]).replace("2027-06-30", '"2027-06-30"'))


def test_a_misspelt_table_is_refused(tmp_path):
    assert "aproval" in refused(tmp_path, added([APPROVAL]).replace("[[approval]]", "[[aproval]]"))


# --- translations --------------------------------------------------------------------------------


def spanish(word: str = "Picor") -> Catalogue:
    made = Catalog(locale="es")
    made.add("Itch", word)
    made.add("It itches.", "Pica.")
    made.add("What you may notice", "Lo que puede notar")
    return Catalogue("es", Locale.parse("es"), (made,))


ITCH = replace(MODULE, sections={"What you may notice": (Block("paragraph", (Inline("It itches.", 9),)),)})


def in_spanish(*approvals: Approval, word: str = "Picor", module: Risk = ITCH, today: date = TODAY) -> str:
    digest = partial(digest_in, catalogue=spanish(word))
    found = states({FILE: module}, approvals, language="es", today=today, digest=digest, persons=2)
    return found[FILE].state


def signed(by: str, *, word: str = "Picor", until: date = date(2027, 6, 30)) -> Approval:
    digest = digest_in(ITCH, spanish(word))
    return Approval("risks/itch", "es", digest, by, "translator", date(2026, 1, 2), until)


def test_a_translation_needs_two_different_people():
    assert in_spanish() == "never approved"
    assert in_spanish(signed("Ana")) == "needs another person"
    assert in_spanish(signed("Ana"), signed("ana ")) == "needs another person"
    assert in_spanish(signed("Ana"), signed("Luis")) == "approved"


def test_one_changed_word_of_a_translation_withdraws_both_approvals():
    assert in_spanish(signed("Ana"), signed("Luis"), word="Comezón") == "changed"
    assert in_spanish(signed("Ana"), signed("Luis"), signed("Ana", word="Comezón"), word="Comezón") == (
        "needs another person"
    )


def test_a_changed_original_withdraws_the_approval_of_its_translation():
    assert in_spanish(signed("Ana"), signed("Luis"), module=replace(ITCH, digest="d2")) == "changed"


def test_a_translation_is_out_of_date_when_one_of_its_two_approvals_is():
    early = signed("Luis", until=date(2026, 3, 1))
    assert in_spanish(early, signed("Ana")) == "needs another person"
    assert in_spanish(signed("Ana"), early) == "expired"


def test_in_the_language_of_the_content_the_digest_is_the_files():
    assert digest_in(ITCH, Catalogue("en-GB", Locale.parse("en_GB"))) == ITCH.digest


def test_the_last_day_of_a_translation_is_the_earlier_of_its_two():
    digest = partial(digest_in, catalogue=spanish())
    both = [signed("Ana", until=date(2027, 1, 1)), signed("Luis", until=date(2027, 3, 1))]
    found = states({FILE: ITCH}, both, language="es", today=TODAY, digest=digest, persons=2)[FILE]
    assert found.until == date(2027, 1, 1)


# --- ending soon ---------------------------------------------------------------------------------


@pytest.mark.parametrize(("left", "named"), [(WARN_DAYS, True), (WARN_DAYS + 1, False), (0, True)])
def test_an_approval_is_named_as_ending_two_months_ahead(left, named):
    approval = replace(APPROVAL, until=TODAY + timedelta(days=left))
    found = states({FILE: MODULE}, [approval], language="en-GB", today=TODAY)
    assert bool(ending(found.values(), today=TODAY)) is named


def test_what_is_not_approved_does_not_end():
    found = states({FILE: MODULE}, [], language="en-GB", today=TODAY)
    assert ending(found.values(), today=TODAY) == []


def test_the_grade_is_kept_with_the_approval():
    text = added([replace(APPROVAL, grade=4.237)])
    assert "grade = 4.24" in text and tomllib.loads(text)["approval"][0]["grade"] == 4.24
