"""Sign-off at its borders: whose approval holds, of which text, and until which day. All invented."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest
from test_approvals import APPROVAL, FILE, ITCH, MODULE, TODAY, in_spanish, signed, spanish, state
from test_together import CLINIC, LIBRARY

from consentpack.approvals import (
    APPROVALS_FILE,
    PHRASES,
    TRANSLATORS,
    added,
    approvals_in,
    digest_in,
    ending,
    holding,
    load_approvals,
    not_approved,
    phrases_of,
    read_approvals,
    states,
    tables,
)
from consentpack.errors import ClinicError
from consentpack.model import ApprovalState

LAST = APPROVAL.until


def until(*approvals, persons: int = 1, module=MODULE) -> date | None:
    found = states({FILE: module}, approvals, language="en-GB", today=TODAY, persons=persons)[FILE]
    assert found.state == "approved"
    return found.until


def test_who_approved_last_another_text_has_withdrawn_the_approval_of_this_one():
    later = replace(APPROVAL, by="Dr Second", digest="d2")
    assert state(APPROVAL, later) == "changed"


def test_when_the_last_to_read_this_text_read_another_since_it_is_changed():
    assert state(APPROVAL, replace(APPROVAL, digest="d2"), replace(APPROVAL, digest="d2")) == "changed"


def test_an_approval_that_nobody_needs_does_not_shorten_a_later_one():
    second = replace(APPROVAL, by="Dr Second", until=LAST + timedelta(days=30))
    assert until(APPROVAL, second) == LAST + timedelta(days=30)
    assert until(APPROVAL, second, persons=2) == LAST
    third = replace(APPROVAL, by="Dr Third", until=LAST + timedelta(days=60))
    assert until(APPROVAL, second, third, persons=2) == LAST + timedelta(days=30)


def test_who_approves_again_for_a_shorter_time_means_it():
    second = replace(APPROVAL, by="Dr Second", until=LAST + timedelta(days=30))
    again = replace(APPROVAL, until=TODAY + timedelta(days=9))
    assert until(APPROVAL, second, again) == TODAY + timedelta(days=9)


def test_an_approval_ends_no_later_than_the_module_is_to_be_looked_at_again():
    assert until(APPROVAL, module=replace(MODULE, review_by=date(2026, 12, 1))) == date(2026, 12, 1)
    assert until(APPROVAL) == LAST


def test_one_name_is_one_person_however_it_is_written():
    again = replace(APPROVAL, by="  dr INVENTED ")
    found = states({FILE: MODULE}, [APPROVAL, again], language="en-GB", today=TODAY, persons=2)
    assert found[FILE].state == "needs another person"


# --- tables ---------------------------------------------------------------------------------------


def table_approval(**more):
    table = tables(LIBRARY, CLINIC)["tables/care-settings"]
    given = replace(APPROVAL, module="tables/care-settings", digest=table.digest, **more)
    return table, given


def names(*given, language="en-GB", today=TODAY):
    return holding(given, table_approval()[0], language, today=today)


def test_a_table_is_held_by_who_approved_its_very_text_in_this_language_and_in_date():
    _, given = table_approval(by=" Dr Invented ")
    assert names(given) == ("Dr Invented",)
    assert names(given, today=LAST) == ("Dr Invented",)
    assert names(given, today=LAST + timedelta(days=1)) == ()
    assert names(given, language="es") == ()
    assert names(replace(given, digest="other")) == names(replace(given, module="tables/x")) == ()
    assert names(given, replace(given, by="DR INVENTED"), replace(given, by="Ana")) == ("DR INVENTED", "Ana")


def test_a_time_the_clinic_sets_changes_the_table_of_times_and_no_other():
    name, setting = next(iter(LIBRARY.settings.items()))
    usual, own = tables(LIBRARY, CLINIC), replace(CLINIC, care={name: setting.value + 1})
    changed = tables(LIBRARY, own)
    assert changed["tables/care-settings"].digest != usual["tables/care-settings"].digest
    assert changed["tables/published-rates"].digest == usual["tables/published-rates"].digest
    assert tables(LIBRARY, replace(CLINIC, care={name: setting.value})) == usual


def test_a_printed_figure_that_changes_changes_the_table_of_figures():
    one, *rest = LIBRARY.published
    other = replace(LIBRARY, published=(replace(one, source=one.source + "x"), *rest))
    key = "tables/published-rates"
    assert tables(other, CLINIC)[key].digest != tables(LIBRARY, CLINIC)[key].digest


def test_a_table_is_approved_by_its_own_digest_in_every_language():
    table, _ = table_approval()
    assert digest_in(table, spanish()) == table.digest
    assert digest_in(ITCH, spanish()) != ITCH.digest
    assert phrases_of(spanish()).file == "tables/phrases"


def test_a_table_is_in_date_as_long_as_its_approval_is():
    table, given = table_approval()
    found = states({table.file: table}, [given], language="en-GB", today=TODAY)[table.file]
    assert (found.state, found.until) == ("approved", LAST)


# --- counted and written --------------------------------------------------------------------------


def test_those_that_end_are_named_the_first_to_end_first():
    ends = [TODAY + timedelta(days=n) for n in (60, 3, 61)]
    given = [ApprovalState(str(n), "1", "approved", until=day) for n, day in enumerate(ends)]
    assert [each.module for each in ending(given, today=TODAY)] == ["1", "0"]


def test_reasons_are_counted_in_words_for_one_and_for_several():
    def draft(*kinds):
        return not_approved({str(n): ApprovalState(str(n), "1", kind) for n, kind in enumerate(kinds)})

    one = "1 module approved by one person; a translation needs two"
    assert draft("needs another person", "approved") == [one]
    assert draft("expired", "expired") == ["2 modules past their date"]


@pytest.mark.parametrize(("grade", "kept"), [(None, False), (0.0, False), (-0.5, False), (0.01, True)])
def test_a_grade_is_kept_only_when_there_is_one_above_zero(grade, kept):
    assert ("grade" in added([replace(APPROVAL, grade=grade)])) is kept


def test_what_is_in_single_brackets_is_refused(tmp_path):
    (tmp_path / "approvals.toml").write_text('[approval]\nmodule = "a/b"\n', encoding="utf-8")
    with pytest.raises(ClinicError, match="in double brackets"):
        load_approvals(tmp_path)


def test_a_name_with_letters_of_any_script_stays_readable():
    assert 'by = "Dr Łucja"' in added([replace(APPROVAL, by="Dr Łucja")])


def test_two_who_read_another_text_each_leave_a_translation_changed():
    assert in_spanish(signed("Ana"), signed("Luis", word="x")) == "changed"


@pytest.mark.parametrize(
    ("given", "word"),
    [
        ((), "never approved"),
        ((replace(APPROVAL, digest="d2"),), "changed"),
        ((replace(APPROVAL, until=TODAY - timedelta(days=1)),), "expired"),
        ((APPROVAL,), "needs another person"),
    ],
)
def test_every_state_names_its_module_its_version_and_the_last_approval(given, word):
    found = states({FILE: MODULE}, given, language="en-GB", today=TODAY, persons=2)[FILE]
    last = given[-1] if given else None
    assert found == ApprovalState("risks/itch", "3", word, last, FILE)


def test_the_order_of_settings_makes_no_other_table():
    turned = replace(LIBRARY, settings=dict(reversed(LIBRARY.settings.items())))
    assert tables(turned, CLINIC) == tables(LIBRARY, CLINIC)


def test_who_approved_long_ago_still_counts_where_the_last_is_in_date():
    """Of two who must have approved, it is two whose approvals hold today."""
    over = replace(APPROVAL, by="Dr Second", until=TODAY - timedelta(days=1))
    found = states({FILE: MODULE}, [over, APPROVAL], language="en-GB", today=TODAY, persons=2)[FILE]
    assert found.state == "needs another person"
    third = replace(APPROVAL, by="Dr Third", until=TODAY)  # its last day is one of its days
    assert until(third, APPROVAL, persons=2) == TODAY


def test_a_translation_is_approved_by_two_people():
    """A translator and a reviser: ISO 17100 (second hand)."""
    assert TRANSLATORS == 2
    assert not_approved({"a": ApprovalState("a", "1", "needs another person")}) == [
        "1 module approved by one person; a translation needs two"
    ]


def test_a_table_stands_in_as_a_module_that_never_has_to_be_looked_at_again():
    for file, table in tables(LIBRARY, CLINIC).items():
        assert (table.file, table.id, table.version) == (file, file.removeprefix("tables/"), "-")
        assert (table.reviewed, table.review_by) == (date.min, date.max)
        assert (table.title_line, dict(table.sections)) == (0, {})
        assert len(table.digest) == 64
    assert [table.title for table in tables(LIBRARY, CLINIC).values()] == ["Care settings", "Published rates"]
    assert phrases_of(spanish()).file == PHRASES


def test_the_words_of_a_translation_outside_its_modules_have_their_own_digest():
    assert phrases_of(spanish()).digest == phrases_of(spanish()).digest
    assert digest_in(ITCH, spanish("Comezón")) != digest_in(ITCH, spanish())


def test_a_file_that_cannot_be_read_is_told_and_one_that_is_not_there_is_none(tmp_path):
    assert read_approvals(tmp_path) is None and load_approvals(tmp_path) == ()
    (tmp_path / APPROVALS_FILE).mkdir()
    with pytest.raises(ClinicError, match="the file cannot be read"):
        load_approvals(tmp_path)


def test_a_file_is_utf_8_with_or_without_its_mark():
    written = added([APPROVAL])
    assert approvals_in(written.encode("utf-8-sig")) == approvals_in(written.encode()) == (APPROVAL,)
    assert approvals_in(b"") == ()
    with pytest.raises(ClinicError, match="not UTF-8 text"):
        approvals_in("by = 'Ünsal'".encode("latin-1"))


@pytest.mark.parametrize(
    "text", ["approval = 3", "approval = [1]", "approval = [{}, 1]", 'approval = "a"', "[approval]"]
)
def test_what_is_no_list_of_approvals_is_refused(text):
    with pytest.raises(ClinicError, match="in double brackets"):
        approvals_in(text.encode())


def test_every_missing_key_and_every_other_table_is_named_and_a_grade_is_no_must():
    with pytest.raises(ClinicError) as caught:
        approvals_in(b"[[approval]]\n[[other]]\n")
    said = str(caught.value)
    assert "approvals.toml: there is no table 'other'; entries are [[approval]]s." in said
    assert [key for key in ("module", "language", "digest", "by", "role", "day", "until")
            if f"approval 1: the key '{key}' is missing" not in said] == []  # fmt: skip
    assert "grade" not in said
