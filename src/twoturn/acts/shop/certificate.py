"""The bench's certificate for a network: one given, or one made here that browsers have to be told of once."""

from __future__ import annotations

import hashlib
import ipaddress
import os
import ssl
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

from twoturn.acts.shop.shop import Shop
from twoturn.errors import TwoTurnError
from twoturn.store.disk import disk_faults

if TYPE_CHECKING:
    from cryptography import x509
    from cryptography.hazmat.primitives.asymmetric.ec import EllipticCurvePrivateKey

HOLDS = timedelta(days=397)
"""How long a certificate made here holds; browsers take none for longer than 398 days (common practice)."""
RENEWED_BEFORE = timedelta(days=30)


@dataclass(frozen=True)
class Certificate:
    """A certificate with its key.

    Attributes
    ----------
    file, key
        Where they are, as PEM.
    fingerprint
        SHA-256 of the certificate as browsers show it; empty for one that was given.
    """

    file: Path
    key: Path
    fingerprint: str = ""


def given_certificate(file: Path | None, key: Path | None) -> Certificate:
    """The certificate that somebody names, looked at before it is needed.

    Raises
    ------
    TwoTurnError
        One of the two is missing, cannot be read, or they do not belong together.
    """
    if file is None or key is None:
        missing = "--cert" if file is None else "--key"
        raise TwoTurnError(f"{missing} is missing", allowed="both --cert and --key, or neither of them")
    try:
        ssl.create_default_context(ssl.Purpose.CLIENT_AUTH).load_cert_chain(file, key, password=lambda: "")
    except (OSError, ValueError) as error:
        reason = getattr(error, "reason", None) or getattr(error, "strerror", None) or "it cannot be read"
        raise TwoTurnError(
            f"{file} and {key} make no certificate: {str(reason).replace('_', ' ').lower()}",
            allowed="a certificate and its key as PEM files, the key without a password",
        ) from None
    return Certificate(file, key)


def own_certificate(shop: Shop, names: Sequence[str]) -> Certificate:
    """The certificate of this bench for these names and addresses; made where there is none that still fits.

    Parameters
    ----------
    shop
        The record, in whose folder for secrets it is kept.
    names
        Names and addresses in digits by which the bench is reached.

    Raises
    ------
    StoreError
        The folder cannot be written.
    """
    file, key = shop.place.secrets / "bench.pem", shop.place.secrets / "bench-key.pem"
    now = shop.now()
    with disk_faults(shop.place.secrets):
        der = _fitting(file, key, names, now)
        if der is None:
            der = _make(file, key, names, now)
    digits = hashlib.sha256(der).hexdigest().upper()
    return Certificate(file, key, ":".join(digits[at : at + 2] for at in range(0, len(digits), 2)))


def _fitting(file: Path, key: Path, names: Sequence[str], now: datetime) -> bytes | None:
    """The kept certificate as DER, None where it is missing, damaged, for other names, or about to end."""
    from cryptography import x509
    from cryptography.hazmat.primitives.serialization import Encoding

    try:
        held = x509.load_pem_x509_certificate(file.read_bytes())
        given_certificate(file, key)
        known = held.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    except (OSError, ValueError, TwoTurnError, x509.ExtensionNotFound):
        return None
    spoken = {str(one.value) for one in known}
    fits = set(names) <= spoken and now + RENEWED_BEFORE < held.not_valid_after_utc
    return held.public_bytes(Encoding.DER) if fits else None


def _make(file: Path, key_file: Path, names: Sequence[str], now: datetime) -> bytes:
    from cryptography.hazmat.primitives.asymmetric import ec
    from cryptography.hazmat.primitives.serialization import Encoding, NoEncryption, PrivateFormat

    key = ec.generate_private_key(ec.SECP256R1())
    made = _signed(key, names, now)
    _write(key_file, key.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption()))
    _write(file, made.public_bytes(Encoding.PEM))
    return made.public_bytes(Encoding.DER)


def _signed(key: EllipticCurvePrivateKey, names: Sequence[str], now: datetime) -> x509.Certificate:
    """Signed by its own key, for servers alone (RFC 5280)."""
    from cryptography import x509
    from cryptography.hazmat.primitives import hashes
    from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

    who = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "twoturn bench")])
    builder = (
        x509.CertificateBuilder()
        .subject_name(who)
        .issuer_name(who)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - timedelta(days=1))
        .not_valid_after(now + HOLDS)
        .add_extension(x509.SubjectAlternativeName([_spoken(name) for name in names]), critical=False)
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
    )
    return builder.sign(key, hashes.SHA256())


def _spoken(name: str) -> x509.GeneralName:
    from cryptography import x509

    try:
        return x509.IPAddress(ipaddress.ip_address(name))
    except ValueError:
        return x509.DNSName(name)


def _write(path: Path, content: bytes) -> None:
    """Write for the owner's eyes alone, and only then in place."""
    new = path.with_suffix(".new")
    new.unlink(missing_ok=True)
    with os.fdopen(os.open(new, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as opened:
        opened.write(content)
    new.replace(path)
