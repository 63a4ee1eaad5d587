"""What the trials of given packs found, one by one: damage is named, and nothing is begun anew over it."""

from __future__ import annotations

import shutil
import sqlite3
from datetime import timedelta
from pathlib import Path

import pytest
from given import MORNING, approved, give, mark

from consentpack import pipeline
from consentpack.errors import ConsentpackError, KeptError, LedgerError, RegisterError
from consentpack.ledger import append, merkle
from consentpack.ledger.entry import NAMES, encoded
from consentpack.pipeline import ledgers

REFERENCE = "HS-P-101"
LATER = MORNING + timedelta(days=4)


@pytest.fixture(scope="module")
def _signed(tmp_path_factory, demo_clinic) -> Path:
    folder = Path(shutil.copytree(demo_clinic, tmp_path_factory.mktemp("signed") / "clinic"))
    give(approved(folder))
    mark(folder, REFERENCE, "signed", now=LATER)
    return folder


@pytest.fixture
def signed(tmp_path, _signed) -> Path:
    """A clinic that has given one pack, which was signed."""
    return Path(shutil.copytree(_signed, tmp_path / "clinic"))


def sql(clinic: Path, *statements: str) -> None:
    with sqlite3.connect(clinic / "register.sqlite") as connection:
        for what in ("UPDATE", "DELETE"):
            connection.execute(f"DROP TRIGGER IF EXISTS ledger_kept_{what}")
        for statement in statements:
            connection.execute(statement)
    connection.close()


def named(clinic: Path) -> set[str]:
    return {each.where for each in pipeline.verify_all(clinic).findings}


def test_an_entry_after_the_last_pack_that_was_written_anew_is_named(signed):
    """Digest, part and head made to fit: nothing outside the database knew of it before each entry had a
    receipt."""
    with sqlite3.connect(signed / "register.sqlite") as connection:
        columns = ", ".join(f'"{name}"' for name in NAMES)
        rows = connection.execute(f"SELECT {columns} FROM ledger_entries ORDER BY number").fetchall()
    connection.close()
    leaves = [merkle.leaf(encoded(row)) for row in rows]
    changed = list(rows[1])
    changed[2] = "refused"
    leaves[1] = merkle.leaf(encoded(changed))
    root = merkle.root_of(leaves).hex()
    sql(
        signed,
        f"UPDATE ledger_entries SET kind = 'refused', digest = '{leaves[1].hex()}', part = '{root}' "
        "WHERE number = 2",
        f"UPDATE ledger_head SET root = '{root}'",
    )
    assert {"ledger, entry 2", f"given/{REFERENCE}/entry-2.json"} <= named(signed)


def test_an_entry_that_was_put_in_at_the_end_is_named(signed):
    """Digest, part and head fit: no receipt knows of it. Its missing receipt alone was named, as if somebody
    had lost a file."""
    register = ledgers.ledger_register(signed)
    assert register
    with register.writing() as connection:
        append(connection, kind="refused", by="Dr Never", now=LATER, reference=REFERENCE, version=1)
    assert {"ledger, entry 3", f"given/{REFERENCE}/entry-3.json"} <= named(signed)


def test_an_end_that_was_cut_off_is_named_by_its_receipt(signed):
    sql(signed, "DELETE FROM ledger_entries WHERE number = 2")
    assert "ledger, entry 2" in named(signed)


def test_a_receipt_that_is_gone_is_named(signed):
    (signed / "given" / REFERENCE / "entry-2.json").unlink()
    assert f"given/{REFERENCE}/entry-2.json" in named(signed)


@pytest.mark.parametrize("value", ["X'00ff41'", "CAST(X'ff4180' AS TEXT)"])
@pytest.mark.parametrize("column", ["by", "reference", "details", "digest"])
def test_what_is_no_text_is_named_and_brings_no_command_down(signed, column, value):
    sql(signed, f'UPDATE ledger_entries SET "{column}" = {value} WHERE number = 2')
    assert "ledger, entry 2" in named(signed)
    for command in (pipeline.issued, lambda folder: pipeline.story(folder, REFERENCE)):
        try:
            command(signed)
        except ConsentpackError as error:
            assert str(error)


def test_a_second_head_is_named(signed):
    sql(signed, "INSERT INTO ledger_head SELECT 2, size, root, at, key, signature FROM ledger_head")
    assert "ledger" in named(signed)


def test_details_that_say_something_else_bring_no_command_down(signed):
    for details in ("[]", "{", '{"documents": 1}', '{"documents": {"a": []}, "day": {}}', "[" * 5000):
        sql(signed, f"UPDATE ledger_entries SET details = '{details}' WHERE number = 1")
        assert "ledger, entry 1" in named(signed)


def test_a_link_in_place_of_what_was_given_is_named(signed, tmp_path):
    paper = signed / "given" / REFERENCE / "1/form.docx"
    paper.parent.chmod(0o700)
    paper.rename(tmp_path / "form.docx")
    paper.symlink_to(tmp_path / "form.docx")
    assert named(signed) == {f"given/{REFERENCE}/1/form.docx"}


def test_a_folder_in_place_of_what_was_kept_is_named(signed):
    kept = sorted((signed / "kept").glob("??/*"))[0]
    kept.unlink()
    kept.mkdir()
    assert kept.relative_to(signed).as_posix() in named(signed)


def test_a_ledger_that_is_gone_is_not_called_nothing_given(signed):
    """And no second one is begun beside what was given."""
    (signed / "register.sqlite").unlink()
    for command in (pipeline.verify_all, pipeline.issued, lambda f: mark(f, REFERENCE, "treated", now=LATER)):
        with pytest.raises(LedgerError, match="the ledger they were entered in is gone"):
            command(signed)
    with pytest.raises(LedgerError, match="no entry of them"):
        give(signed, now=LATER)
    with pytest.raises(LedgerError, match="is gone"):
        give(signed, "p-102", now=LATER)


def test_papers_whose_entry_is_gone_are_not_given_again(signed):
    """The entry stood in the ledger then, and the folder could not get its name: papers were lost."""
    sql(signed, "DELETE FROM ledger_entries", "DELETE FROM ledger_head")
    with pytest.raises(LedgerError, match="no entry of them"):
        give(signed, now=LATER)
    assert (signed / "given" / REFERENCE / "1/form.docx").is_file()


def test_an_entry_whose_run_was_stopped_has_its_receipt_after_the_next_command(signed, monkeypatch):
    def stopped(*_args):
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as patched:
        patched.setattr(ledgers, "move_whole", stopped)
        with pytest.raises(KeptError, match="the entry stands"):
            mark(signed, REFERENCE, "treated", now=LATER)
    monkeypatch.setattr(ledgers, "runs", lambda _pid: False)  # as if that run were gone
    assert pipeline.issued(signed)[0].state == "treated"
    assert pipeline.verify_all(signed).holds
    assert list((signed / "given/.aside").iterdir()) == []


def test_a_key_that_a_stopped_run_made_is_entered_by_the_next(signed, monkeypatch):
    """It signed all heads from then on, and nothing said whose key it was."""

    def stopped(*_args, **_more):
        raise KeyboardInterrupt

    with monkeypatch.context() as patched:
        patched.setattr(ledgers, "entering", stopped)
        with pytest.raises(KeyboardInterrupt):
            ledgers.new_key(signed, by="x", now=LATER)
    entry, head = ledgers.new_key(signed, by="x", now=LATER)
    assert head.key == entry.more["key"] and head.holds
    assert pipeline.verify_all(signed).holds
    with pytest.raises(ConsentpackError, match="there is a key already"):
        ledgers.new_key(signed, by="x", now=LATER)


def test_a_name_that_cannot_be_kept_is_refused(signed):
    with pytest.raises(RegisterError, match="letters that cannot be kept"):
        pipeline.mark(signed, REFERENCE, pipeline.Marked("treated", "Dr \udcff", LATER, LATER.date()))
    assert pipeline.verify_all(signed).holds


def test_what_is_given_while_all_is_verified_is_no_fault(signed, monkeypatch):
    """The list of what lies in given/ and the snapshot of the ledger are of one moment."""
    from consentpack.pipeline import verifying_all

    real = verifying_all.findings_of

    def meanwhile(clinic, given, kept):
        mark(signed, REFERENCE, "more-time", now=LATER)
        return real(clinic, given, kept)

    monkeypatch.setattr(verifying_all, "findings_of", meanwhile)
    assert pipeline.verify_all(signed).holds
    monkeypatch.undo()
    assert pipeline.verify_all(signed).entries == 3 and pipeline.verify_all(signed).holds
