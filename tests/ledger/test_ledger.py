"""The ledger on SQLite and PostgreSQL: added to, read, and found out whatever is done to it."""

from __future__ import annotations

import base64
import hashlib
import json
import random
import re
from datetime import timedelta
from itertools import pairwise

import pytest
from entries import BEGUN, filled
from sqlalchemy import text
from sqlalchemy.exc import DatabaseError

from consentpack.errors import ClinicError, OutputError, RegisterError
from consentpack.ledger import (
    KEY_FILE,
    append,
    check_ledger,
    entries_of,
    entry_of,
    head_of,
    make_key,
    receipt_in,
    receipt_of,
    receipt_of_last,
    signer_of,
    standings,
)

SOME = 13


def unlocked(connection):
    """Whoever wants to change the ledger takes away first what stops a slip of the hand."""
    for what in ("UPDATE", "DELETE"):
        if connection.dialect.name == "sqlite":
            connection.execute(text(f"DROP TRIGGER ledger_kept_{what}"))
        else:
            connection.execute(text(f"DROP TRIGGER ledger_kept_{what} ON ledger_entries"))


def found(register, **known):
    with register.connect() as connection:
        return check_ledger(connection, **known)


def test_a_ledger_without_an_entry_is_whole(register):
    whole = found(register)
    assert (whole.size, whole.head, whole.faults) == (0, None, ())


def test_entries_are_numbered_bound_and_told_again(register):
    made = filled(register, SOME)
    whole = found(register)
    assert (whole.size, whole.faults, whole.warnings) == (SOME, (), ())
    assert whole.head == made[-1][1]
    for (before, _), (after, _) in pairwise(made):
        assert after.number == before.number + 1 and after.previous == before.digest.hex()
    with register.connect() as connection:
        assert entries_of(connection, "P-1") == (made[2][0], made[3][0])
        assert entry_of(connection, 4) == made[3][0]
        assert [each.state for each in standings(connection)] == ["signed"] * 6 + ["given"]


def test_emptying_the_ledger_by_a_slip_is_stopped_where_the_database_has_a_word_for_it(register):
    filled(register, 2)
    if register.engine.dialect.name == "postgresql":
        with pytest.raises(DatabaseError, match="never changed"), register.transaction() as connection:
            connection.execute(text("TRUNCATE ledger_entries"))
    assert found(register).size == 2


@pytest.mark.parametrize("statement", ["UPDATE ledger_entries SET kind = 'x'", "DELETE FROM ledger_entries"])
def test_a_slip_of_a_hand_in_the_database_is_stopped(register, statement):
    filled(register, 2)
    with pytest.raises(DatabaseError, match="never changed"), register.transaction() as connection:
        connection.execute(text(statement))
    assert not found(register).faults


FIELDS = ["at", "kind", "by", "reference", "code", "details", "previous", "digest", "part"]


@pytest.mark.parametrize("field", FIELDS)
@pytest.mark.parametrize("number", [1, 6, SOME])
def test_a_field_of_an_entry_that_was_changed_is_found_with_its_number(register, field, number):
    filled(register, SOME)
    with register.transaction() as connection:
        unlocked(connection)
        connection.execute(
            text(f"UPDATE ledger_entries SET \"{field}\" = '2026-11-01' WHERE number = :n"), {"n": number}
        )
    assert number in {fault.number for fault in found(register).faults}


@pytest.mark.parametrize("number", [1, 6, SOME])
def test_an_entry_that_was_taken_away_is_found(register, number):
    filled(register, SOME)
    with register.transaction() as connection:
        unlocked(connection)
        connection.execute(text("DELETE FROM ledger_entries WHERE number = :n"), {"n": number})
    faults = found(register).faults
    assert faults
    said = " ".join(fault.what for fault in faults)
    assert f"entry {number} is missing" in said or f"its head says {SOME}" in said


def test_two_entries_that_changed_places_are_found(register):
    filled(register, SOME)
    with register.transaction() as connection:
        unlocked(connection)
        for old, new in ((4, 99), (5, 4), (99, 5)):
            connection.execute(
                text("UPDATE ledger_entries SET number = :new WHERE number = :old"), {"old": old, "new": new}
            )
    assert {4, 5} <= {fault.number for fault in found(register).faults}


def test_an_end_that_is_gone_with_a_head_made_to_fit_is_found_by_a_receipt(register):
    """Whoever knows the program can write the head anew; what was kept with a pack still says more."""
    made = filled(register, SOME)
    with register.transaction() as connection:
        unlocked(connection)
        connection.execute(text("DELETE FROM ledger_entries WHERE number > 9"))
        new = {"root": made[8][1].root, "at": made[8][1].at}
        connection.execute(text("UPDATE ledger_head SET size = 9, root = :root, at = :at"), new)
    assert not found(register).faults
    assert found(register, known={SOME: made[-1][1]}).faults[0].number == 10


def test_a_ledger_that_was_written_anew_does_not_come_to_an_older_head(register):
    made = filled(register, 4)
    with register.transaction() as connection:
        unlocked(connection)
        connection.execute(text("DELETE FROM ledger_entries"))
        connection.execute(text("DELETE FROM ledger_head"))
        for number in range(4):
            append(connection, kind="given", by="Dr Other", now=BEGUN, reference=f"P-{number}", version=1)
    assert not found(register).faults
    assert {fault.number for fault in found(register, known={2: made[1][1]}).faults} == {2}


def test_nothing_is_added_to_a_ledger_whose_end_is_gone(register):
    filled(register, SOME)
    with register.transaction() as connection:
        unlocked(connection)
        connection.execute(text("DELETE FROM ledger_entries WHERE number = :n"), {"n": SOME})
    with pytest.raises(RegisterError, match="not as this program left it"), register.writing() as connection:
        append(connection, kind="given", by="x", now=BEGUN)


def test_a_clock_that_was_set_back_is_told(register):
    filled(register, 2)
    with register.writing() as connection:
        append(connection, kind="signed", by="x", now=BEGUN - timedelta(days=3), reference="P-0", version=1)
    whole = found(register)
    assert not whole.faults and whole.warnings[0].number == 3 and "set back" in whole.warnings[0].what


# --- receipts -------------------------------------------------------------------------------------


def proved_without_us(text: str) -> bool:
    """RFC 9162, 2.1.3.2, from the file alone: nothing of consentpack is used."""
    kept = json.loads(text)
    row = kept["entry"]
    content = json.dumps(list(row.values()), ensure_ascii=False, separators=(",", ":")).encode()
    digest, path = hashlib.sha256(b"\0" + content).digest(), base64.b64decode(kept["path"])
    number, last = row["number"] - 1, kept["head"]["size"] - 1
    for step in (path[n : n + 32] for n in range(0, len(path), 32)):
        if number % 2 or number == last:
            digest = hashlib.sha256(b"\1" + step + digest).digest()
            while number % 2 == 0 and number:
                number, last = number >> 1, last >> 1
        else:
            digest = hashlib.sha256(b"\1" + digest + step).digest()
        number, last = number >> 1, last >> 1
    return last == 0 and digest.hex() == kept["head"]["root"]


def test_a_receipt_proves_its_entry_to_code_that_shares_nothing_with_ours(register):
    with register.writing() as connection:
        for number in range(20):
            entry, head = append(connection, kind="given", by="Dr Größe", now=BEGUN, reference=f"P-{number}")
            receipt = receipt_of_last(connection, entry, head)
            assert receipt.proves and proved_without_us(receipt.as_json())
            assert receipt_in(receipt.as_json().encode()) == receipt
    with register.connect() as connection:
        for number in range(1, 21):
            later = receipt_of(connection, entry_of(connection, number), head_of(connection))
            assert later.proves and proved_without_us(later.as_json())
            assert len(b"".join(later.path)) < 1024


def test_any_letter_of_a_receipt_that_is_changed_is_found(register):
    filled(register, 6)
    with register.connect() as connection:
        receipt = receipt_of(connection, entry_of(connection, 3), head_of(connection))
    text_of, chance = receipt.as_json(), random.Random(1)
    for _ in range(300):
        where = chance.randrange(len(text_of))
        changed = text_of[:where] + chr(ord(text_of[where]) ^ 1) + text_of[where + 1 :]
        other = receipt_in(changed.encode())
        assert (
            other is None or other == receipt or not other.proves or _only_the_day_of_the_head(other, receipt)
        )


def _only_the_day_of_the_head(one, other) -> bool:
    """The time of a head is said by its signature alone, and this ledger has no key."""
    return one.entry == other.entry and one.head.root == other.head.root


@pytest.mark.parametrize(
    "text", [b"", b"{}", b"[]", b"null", b'{"entry": {}, "head": {}, "path": ""}', b"\xff"]
)
def test_what_is_no_receipt_is_none(text):
    assert receipt_in(text) is None


# --- a key ----------------------------------------------------------------------------------------


def test_heads_are_signed_with_the_clinics_key(register, tmp_path):
    signer = make_key(tmp_path)
    made = filled(register, 3, signer=signer)
    assert all(head.holds and head.key == signer.public for _, head in made)
    assert signer_of(tmp_path).public == signer.public
    assert (tmp_path / KEY_FILE).stat().st_mode & 0o777 == 0o600


def test_once_there_is_a_key_a_head_without_it_is_found(register, tmp_path):
    signer = make_key(tmp_path)
    with register.writing() as connection:
        append(connection, kind="key", by="x", now=BEGUN, details={"key": signer.public}, signer=signer)
        append(connection, kind="given", by="x", now=BEGUN, signer=signer)
    assert not found(register).faults
    with register.writing() as connection:
        append(connection, kind="given", by="x", now=BEGUN)
    assert "not signed with the clinic's key" in found(register).faults[0].what


def test_a_second_key_is_not_made_and_a_broken_one_is_told(tmp_path):
    assert signer_of(tmp_path) is None
    make_key(tmp_path)
    with pytest.raises(OutputError, match="there is a key already"):
        make_key(tmp_path)
    (tmp_path / KEY_FILE).write_text("no key")
    with pytest.raises(ClinicError, match="not the key that was made here"):
        signer_of(tmp_path)


def test_a_signature_is_one_of_rfc_8032():
    """RFC 8032, 7.1, test 2 (from memory): the library signs as the standard says."""
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

    secret = bytes.fromhex("4ccd089b28ff96da9db6c346ec114e0f5b8a319f35aba624da8cf6ed4fb8a6fb")
    key = Ed25519PrivateKey.from_private_bytes(secret)
    assert key.public_key().public_bytes_raw().hex().startswith("3d4017c3e843895a92b70aa74d1b7ebc")
    assert key.sign(b"\x72").hex().startswith("92a009a9f0d4cab8720e820b5f642540")


@pytest.mark.parametrize("odd", ["[1]", "null", "true", "1e400", "9" * 5000, "-1", "0.5", "1.0", '"x"', "{}"])
@pytest.mark.parametrize("field", ["number", "version", "by", "size", "root", "key", "path"])
def test_a_receipt_with_odd_values_is_none_or_proves_nothing(register, field, odd):
    filled(register, 6)
    with register.connect() as connection:
        receipt = receipt_of(connection, entry_of(connection, 3), head_of(connection))
    pattern = rf'(?m)^( *"{field}": ).*?(,?)$'
    changed = re.sub(pattern, lambda found: f"{found[1]}{odd}{found[2]}", receipt.as_json(), count=1)
    assert changed != receipt.as_json()
    other = receipt_in(changed.encode())
    assert other is None or not other.proves


def test_a_receipt_is_written_as_json_is_with_an_indent_of_one(register):
    filled(register, 3)
    with register.connect() as connection:
        receipt = receipt_of(connection, entry_of(connection, 2), head_of(connection))
    assert receipt.as_json() == json.dumps(json.loads(receipt.as_json()), indent=1, ensure_ascii=False) + "\n"


def test_a_receipt_that_was_set_otherwise_is_none(register):
    """The same values in other letters: whoever may do that may do more."""
    filled(register, 2)
    with register.connect() as connection:
        receipt = receipt_of(connection, entry_of(connection, 1), head_of(connection))
    kept = receipt.as_json()
    assert receipt_in(kept.encode()) == receipt
    assert receipt_in(kept.replace(" ", "").encode()) is None
    assert receipt_in(kept.replace(receipt.head.root, receipt.head.root.upper()).encode()) is None


def test_the_time_of_a_head_without_a_key_is_that_of_its_entry(register):
    filled(register, 2)
    with register.transaction() as connection:
        connection.execute(text("UPDATE ledger_head SET at = '2026-11-19T00:00:00Z'"))
    assert found(register).faults[0].number == 0
