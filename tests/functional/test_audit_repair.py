"""`consentpack audit check --repair`: what figures are counted from is built anew."""

from __future__ import annotations

import sqlite3
from contextlib import closing

from consentpack.errors import RegisterError


def test_what_figures_are_counted_from_is_checked_and_mended(run, clinic_copy):
    assert run(clinic_copy, "audit", "check").exit_code == 0
    with closing(sqlite3.connect(clinic_copy / "register.sqlite")) as register, register:
        register.execute("DELETE FROM rollup_columns WHERE name = 'o1'")
    found = run(clinic_copy, "audit", "check")
    assert found.exit_code == RegisterError.exit_code
    assert "says otherwise than the rows" in found.output and "--repair" in found.output
    assert run(clinic_copy, "audit", "check", "--repair").exit_code == 0
    assert run(clinic_copy, "audit", "check").exit_code == 0
