"""The ledger: what was given to whom, when and by whom, and what came of it. Only added to.

An entry names no patient and holds no treatment. It is bound to the one before by its digest, and all of them
to the head by the tree of RFC 6962.
"""

from sqlalchemy import Connection

from consentpack.ledger.appending import append
from consentpack.ledger.checking import Fault, Unseen, Whole, check_ledger
from consentpack.ledger.codes import code_from, document_code, in_words, read_code
from consentpack.ledger.entry import AFTER_GIVEN, KINDS, Entry
from consentpack.ledger.heads import KEY_FILE, Head, Signer, make_key, signer_of
from consentpack.ledger.reading import (
    Standing,
    entries_of,
    entries_of_kind,
    entries_saying,
    entries_with,
    entries_with_scan,
    entry_of,
    head_of,
    references,
    standings,
)
from consentpack.ledger.receipts import RECEIPT, Receipt, receipt_in, receipt_of, receipt_of_last

__all__ = [
    "AFTER_GIVEN",
    "KEY_FILE",
    "KINDS",
    "RECEIPT",
    "Connection",
    "Entry",
    "Fault",
    "Head",
    "Receipt",
    "Signer",
    "Standing",
    "Unseen",
    "Whole",
    "append",
    "check_ledger",
    "code_from",
    "document_code",
    "entries_of",
    "entries_of_kind",
    "entries_saying",
    "entries_with",
    "entries_with_scan",
    "entry_of",
    "head_of",
    "in_words",
    "make_key",
    "read_code",
    "receipt_in",
    "receipt_of",
    "receipt_of_last",
    "references",
    "signer_of",
    "standings",
]
