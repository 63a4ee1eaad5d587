"""Placeholders: which may stand in prose, and that a value is only ever words."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from consentpack.fill import Filler, NotAPlaceholder, Placeholder, Unfilled, placeholders
from consentpack.markdown import runs
from consentpack.tree import Run

VALUES = {"clinic": {"phone": "020 7946 0101", "name": "Hazel Street"}, "care": {"cold_days": "3 days"}}
CALLS = {"rate": {"bruising": "about 12 in every 100"}.__getitem__}


def test_names_and_calls_are_found_in_their_order():
    assert placeholders("Ring {{ clinic.phone }}: {{ rate('dark-marks') }}, {{care.cold_days}}.") == (
        Placeholder("clinic.phone"),
        Placeholder("rate", "dark-marks"),
        Placeholder("care.cold_days"),
    )


def test_a_placeholder_reads_as_it_was_written():
    assert str(Placeholder("rate", "bruising")) == "rate('bruising')"
    assert str(Placeholder("clinic.phone")) == "clinic.phone"


@pytest.mark.parametrize("text", ["No braces.", "One { brace }.", "Closing }} only.", ""])
def test_text_without_placeholders_has_none(text):
    assert placeholders(text) == ()


@pytest.mark.parametrize(
    "inside",
    [
        "clinic.phone|upper",
        "clinic.phone ~ 'x'",
        "clinic['phone']",
        "clinic.phone()",
        "rate()",
        "rate(bruising)",
        "rate(7)",
        "rate('')",
        "rate('a', 'b')",
        "rate('a', b='c')",
        "rate(*a)",
        "'words'",
        "7",
        "1 + 1",
        "a if b else c",
        "a, b",
        "[a]",
        "",
    ],
)
def test_anything_but_a_name_or_a_call_with_one_quoted_word_is_refused(inside):
    with pytest.raises(NotAPlaceholder):
        placeholders(f"Words {{{{ {inside} }}}} words.")


@pytest.mark.parametrize("text", ["{% if x %}a{% endif %}", "{# a note #}", "{%"])
def test_conditions_and_comments_are_refused_with_where_they_belong(text):
    with pytest.raises(NotAPlaceholder, match="conditions go in front matter"):
        placeholders(text)


@pytest.mark.parametrize("text", ["Ring {{ clinic.phone }.", "Ring {{ clinic.phone", "{{ }}"])
def test_braces_that_cannot_be_read_are_refused(text):
    with pytest.raises(NotAPlaceholder, match="the braces cannot be read"):
        placeholders(text)


def test_a_mark_that_glues_words_together_is_refused():
    with pytest.raises(NotAPlaceholder):
        placeholders("Ring {{- clinic.phone }}.")


def test_values_are_filled_in_and_recorded():
    filler = Filler(VALUES, CALLS)
    assert filler.fill("Ring {{ clinic.phone }}. Bruises: {{ rate('bruising') }}.") == (
        "Ring 020 7946 0101. Bruises: about 12 in every 100."
    )


@pytest.mark.parametrize("name", ["clinic.fax", "patient.name", "nobody"])
def test_a_placeholder_without_a_value_is_never_blank(name):
    with pytest.raises(Unfilled):
        Filler(VALUES).fill(f"Ring {{{{ {name} }}}}.")


def test_a_value_that_looks_like_a_placeholder_is_not_filled_again():
    filler = Filler({"plan": {"condition": "{{ clinic.phone }} {% raw %}"}})
    assert filler.fill("Your scar: {{ plan.condition }}.") == "Your scar: {{ clinic.phone }} {% raw %}."


@given(value=st.text())
def test_a_value_never_becomes_structure(value):
    """Whatever a clinic types, the words arrive unchanged, in the style of the placeholder."""
    filler = Filler({"plan": {"condition": value}})
    parsed = runs("We treat **{{ plan.condition }}** with [care](https://example.org).")
    assert [Run(filler.fill(run.text), run.strong, run.href) for run in parsed] == [
        Run("We treat "),
        Run(value, strong=True),
        Run(" with "),
        Run("care", href="https://example.org"),
        Run("."),
    ]


@given(text=st.text("ab{}%#'()|. -", max_size=25))
def test_any_text_is_read_or_refused_and_never_breaks(text):
    try:
        found = placeholders(text)
    except NotAPlaceholder:
        return
    assert all(each.name for each in found)
