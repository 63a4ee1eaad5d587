"""Heads of the ledger: how many entries there are and the root over them, signed where there is a key."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from consentpack.errors import ClinicError, OutputError, Problem, unread
from consentpack.files import write_file

if TYPE_CHECKING:
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

KEY_FILE = "ledger-key.pem"
"""The clinic's own key, in its folder: Ed25519 (RFC 8032) as PKCS #8 (RFC 5958)."""


@dataclass(frozen=True)
class Head:
    """The ledger at one moment."""

    size: int
    root: str
    """As hex."""
    at: str
    key: str = ""
    """The public key as hex; '' where the clinic had none."""
    signature: str = ""

    @property
    def content(self) -> bytes:
        """What is signed."""
        return f"consentpack ledger head\n{self.size}\n{self.root}\n{self.at}\n".encode()

    @property
    def holds(self) -> bool:
        """Whether the signature is that of the key it names; False without one."""
        from cryptography.exceptions import InvalidSignature  # noqa: PLC0415 - only clinics with a key
        from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey  # noqa: PLC0415

        try:
            key = Ed25519PublicKey.from_public_bytes(bytes.fromhex(self.key))
            key.verify(bytes.fromhex(self.signature), self.content)
        except (ValueError, TypeError, InvalidSignature):
            return False
        return True


@dataclass(frozen=True)
class Signer:
    """The clinic's key."""

    private: Ed25519PrivateKey

    @property
    def public(self) -> str:
        """The public key as hex."""
        return self.private.public_key().public_bytes_raw().hex()

    def signed(self, head: Head) -> Head:
        """The head with this key's signature."""
        signature = self.private.sign(head.content).hex()
        return Head(head.size, head.root, head.at, self.public, signature)


def signer_of(folder: Path) -> Signer | None:
    """The key of a clinic folder; None where there is none. Raises ClinicError."""
    path = folder / KEY_FILE
    if not path.exists():
        return None
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey  # noqa: PLC0415
    from cryptography.hazmat.primitives.serialization import load_pem_private_key  # noqa: PLC0415

    try:
        key = load_pem_private_key(path.read_bytes(), password=None)
    except OSError as error:
        raise ClinicError(unread(KEY_FILE, error)) from None
    except (ValueError, TypeError):
        raise ClinicError(_no_key()) from None
    if not isinstance(key, Ed25519PrivateKey):
        raise ClinicError(_no_key())
    return Signer(key)


def _no_key() -> Problem:
    what = "this is not the key that was made here. Nothing can be entered in the ledger without it."
    return Problem(KEY_FILE, what, "Put the file back from a backup.")


def make_key(folder: Path) -> Signer:
    """Make a clinic's key, for its owner alone. Raises OutputError where there is one."""
    from cryptography.hazmat.primitives import serialization as form  # noqa: PLC0415
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey  # noqa: PLC0415

    path = folder / KEY_FILE
    if path.exists():
        what = "there is a key already. Whoever has it can still check what it signed; a second is not made."
        raise OutputError(Problem(KEY_FILE, what))
    private = Ed25519PrivateKey.generate()
    pem = private.private_bytes(form.Encoding.PEM, form.PrivateFormat.PKCS8, form.NoEncryption())
    write_file(path, pem.decode())
    return Signer(private)
