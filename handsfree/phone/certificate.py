"""Certificates for the local network: an authority of this machine, and server certificates.

A browser stores an app only from an address that it trusts. The phone has to trust the authority
once; it is valid only for private addresses (RFC 1918, RFC 3927, RFC 6762).
"""

from __future__ import annotations

import ipaddress
import os
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import NamedTuple

from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

from handsfree.errors import PhoneError
from handsfree.journal.durable_files import OWN_FILE, OWN_FOLDER, replace_file

PRIVATE = ("10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16", "169.254.0.0/16", "127.0.0.0/8")
AUTHORITY, AUTHORITY_KEY = "authority.crt", "authority.key"
SERVER, SERVER_KEY = "server.crt", "server.key"
AUTHORITY_DAYS, SERVER_DAYS = 3650, 397
"""Validity of the certificates (days). Phones refuse a server's certificate of more than 398 days
(memory).
"""


class Certificates(NamedTuple):
    """The files of a server: its certificate, its key, and the authority's certificate."""

    server: Path
    key: Path
    authority: Path


def certificates(folder: Path, address: str) -> Certificates:
    """Makes a certificate for an address; the authority is made once and kept in ``folder``.

    Raises PhoneError for an address that is not private, or an unusable folder.
    """
    host = ipaddress.IPv4Address(address)
    if not any(host in ipaddress.ip_network(each) for each in PRIVATE):
        raise PhoneError(
            f"{address} is not an address in a private network",
            way_out="put the app on a server with a certificate of its own: docs/phone.md",
        )
    try:
        folder.mkdir(OWN_FOLDER, parents=True, exist_ok=True)
        authority, key = _authority(folder)
        names = [x509.IPAddress(host), x509.DNSName("localhost")]
        server_key = ec.generate_private_key(ec.SECP256R1())
        made = (
            _begun(_named("handsfree on this machine"), authority.subject, SERVER_DAYS)
            .public_key(server_key.public_key())
            .add_extension(x509.SubjectAlternativeName(names), critical=False)
            .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
            .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
            .sign(key, hashes.SHA256())
        )
        replace_file(folder / SERVER_KEY, _key_bytes(server_key), OWN_FILE)
        replace_file(folder / SERVER, made.public_bytes(serialization.Encoding.PEM))
    except (OSError, ValueError) as error:
        raise PhoneError(
            f"the certificates cannot be kept here: {error}",
            file=folder,
            way_out="remove the folder, and trust the new authority on the phone",
        ) from error
    return Certificates(folder / SERVER, folder / SERVER_KEY, folder / AUTHORITY)


def _authority(folder: Path) -> tuple[x509.Certificate, ec.EllipticCurvePrivateKey]:
    """The stored authority, or a new one on the first call."""
    if (folder / AUTHORITY).exists():
        made = x509.load_pem_x509_certificate((folder / AUTHORITY).read_bytes())
        kept = serialization.load_pem_private_key((folder / AUTHORITY_KEY).read_bytes(), None)
        if not isinstance(kept, ec.EllipticCurvePrivateKey):
            raise ValueError(f"{AUTHORITY_KEY} is a different kind of key")
        return made, kept
    key = ec.generate_private_key(ec.SECP256R1())
    name = _named(f"handsfree authority of {os.uname().nodename if hasattr(os, 'uname') else 'me'}")
    allowed: list[x509.GeneralName] = [
        *(x509.IPAddress(ipaddress.ip_network(each)) for each in PRIVATE),
        x509.DNSName("localhost"),
        x509.DNSName("local"),
    ]
    made = (
        _begun(name, name, AUTHORITY_DAYS)
        .public_key(key.public_key())
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .add_extension(x509.NameConstraints(allowed, None), critical=True)
        .sign(key, hashes.SHA256())
    )
    replace_file(folder / AUTHORITY_KEY, _key_bytes(key), OWN_FILE)
    replace_file(folder / AUTHORITY, made.public_bytes(serialization.Encoding.PEM))
    return made, key


def _named(name: str) -> x509.Name:
    return x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, name)])


def _begun(subject: x509.Name, issuer: x509.Name, days: int) -> x509.CertificateBuilder:
    now = datetime.now(UTC)
    return (
        x509.CertificateBuilder()
        .subject_name(subject)
        .issuer_name(issuer)
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - timedelta(hours=1))
        .not_valid_after(now + timedelta(days=days))
    )


def _key_bytes(key: ec.EllipticCurvePrivateKey) -> bytes:
    return key.private_bytes(
        serialization.Encoding.PEM,
        serialization.PrivateFormat.PKCS8,
        serialization.NoEncryption(),
    )
