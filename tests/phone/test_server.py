"""The app on the local network: TLS that Python's own ssl verifies, and the strict policy."""

import ssl
import subprocess
import sys
import urllib.request

import pytest

from handsfree.errors import PhoneError
from handsfree.phone.build import LIST, POLICY
from handsfree.phone.certificate import certificates
from handsfree.phone.server import serve

pytest.importorskip("cryptography", reason="pip install 'handsfree[phone]'")


@pytest.mark.slow
def test_the_app_is_served_with_tls_that_the_authority_vouches_for(tmp_path):
    app, kept = tmp_path / "app", tmp_path / "certificates"
    app.mkdir()
    (app / LIST).write_text("{}")
    (app / "index.html").write_text("the page")
    command = [sys.executable, "-m", "handsfree", "phone", "serve", str(app)]
    options = ["--host", "127.0.0.1", "--port", "0", "--certificates", str(kept)]
    with subprocess.Popen([*command, *options], stdout=subprocess.PIPE, text=True) as server:
        address = next(
            line.split()[-1] for line in server.stdout or () if line.startswith("The app is at")
        )
        trusting = ssl.create_default_context(cafile=str(kept / "authority.crt"))
        with urllib.request.urlopen(address, context=trusting, timeout=20) as answer:
            assert answer.read() == b"the page"
            assert answer.headers["Content-Security-Policy"] == POLICY
        server.terminate()


def test_the_authority_is_made_once_and_its_key_is_the_owners(tmp_path):
    first = certificates(tmp_path, "192.168.1.20").authority.read_bytes()
    assert certificates(tmp_path, "10.0.0.7").authority.read_bytes() == first
    assert (tmp_path / "authority.key").stat().st_mode & 0o077 == 0


def test_openssl_verifies_a_private_address_and_the_constraint(tmp_path):
    made = certificates(tmp_path, "192.168.1.20")
    check = ["openssl", "verify", "-CAfile", made.authority, "-verify_ip", "192.168.1.20"]
    done = subprocess.run([*check, made.server], capture_output=True, text=True)
    assert done.returncode == 0, done.stderr


def test_a_public_address_is_refused(tmp_path):
    with pytest.raises(PhoneError, match="private network"):
        certificates(tmp_path, "203.0.113.4")


def test_a_folder_without_an_app_is_one_clear_line(tmp_path):
    with pytest.raises(PhoneError, match="no app here"):
        serve(tmp_path, "127.0.0.1", 0, tmp_path, print)
