"""Codes of papers: typed as people type them, found again; nothing else is taken for one."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from consentpack.ledger import code_from, document_code, in_words, read_code


@given(st.lists(st.text(max_size=5), min_size=1, max_size=3), st.integers(1, 99))
def test_a_code_is_read_as_it_was_made_however_it_is_typed(parts, number):
    pack = code_from(*parts)
    whole = document_code(pack, number)
    for typed in (whole, whole.lower(), f"  {whole} ", whole.replace("-", " "), whole.replace("-", "–")):
        assert read_code(typed) == (pack, number)
    assert read_code(pack) == (pack, 0)
    assert read_code(pack.replace("0", "O").replace("1", "l")) == (pack, 0)
    assert in_words(f"HS-P-101 · {whole} · page 1") == whole


@pytest.mark.parametrize(
    "typed", ["", "hello", "HS-P-101", "K7QF2", "K7QF2-M9XA", "K7QF2-M9XAB-1234", "U" * 10]
)
def test_what_is_no_code_is_not_taken_for_one(typed):
    assert read_code(typed) is None


def test_parts_are_kept_apart():
    assert code_from("ab", "c") != code_from("a", "bc")


def test_ten_thousand_packs_have_ten_thousand_codes():
    assert len({code_from("same", str(n)) for n in range(10_000)}) == 10_000
