"""A mail server on this machine that remembers what it was given, and answers what it is told to."""

from __future__ import annotations

import socket
import ssl
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from email import message_from_bytes
from email.message import EmailMessage
from email.policy import default
from pathlib import Path
from typing import Any

from aiosmtpd.controller import Controller
from aiosmtpd.smtp import AuthResult, LoginPassword
from cryptography import x509
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.serialization import Encoding, NoEncryption, PrivateFormat

USER, PASSWORD = "watch", "an anemone of its own"
OK = "250 OK"


@dataclass
class Post:
    """What came in, and what to answer: aiosmtpd calls these by their names."""

    came: list[tuple[str, list[str], bytes]] = field(default_factory=list)
    to_recipient: str = OK
    to_sender: str = OK
    to_data: str = OK
    after_data: str = ""

    async def handle_MAIL(self, server: Any, session: Any, envelope: Any, address: str, options: Any) -> str:
        envelope.mail_from = address
        return self.to_sender

    async def handle_RCPT(self, server: Any, session: Any, envelope: Any, address: str, options: Any) -> str:
        if self.to_recipient == OK:
            envelope.rcpt_tos.append(address)
        return self.to_recipient

    async def handle_DATA(self, server: Any, session: Any, envelope: Any) -> str:
        if self.to_data == OK:
            self.came.append((envelope.mail_from, envelope.rcpt_tos, envelope.content))
        return self.to_data

    def authenticate(self, server: Any, session: Any, envelope: Any, mechanism: str, given: LoginPassword) -> Any:
        right = (given.login, given.password) == (USER.encode(), PASSWORD.encode())
        return AuthResult(success=right, handled=False)

    def letter(self) -> EmailMessage:
        """The one letter that came in."""
        ((_, _, content),) = self.came
        found = message_from_bytes(content, policy=default)
        assert isinstance(found, EmailMessage)
        return found


@contextmanager
def running(post: Post, **how: Any) -> Iterator[int]:
    """A server on a port of its own; the port."""
    controller = Controller(post, hostname="127.0.0.1", port=free_port(), authenticator=post.authenticate, **how)
    controller.start()
    try:
        yield controller.port
    finally:
        controller.stop()


def free_port() -> int:
    """A port that nobody listens at: the controller cannot be told to let the system choose."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        return free.getsockname()[1]


def certificate(folder: Path, name: str) -> tuple[ssl.SSLContext, ssl.SSLContext]:
    """What a server shows to be `name`, and what a client believes in."""
    key, subject = ec.generate_private_key(ec.SECP256R1()), x509.Name([])
    now = datetime.now(UTC)
    made = (
        x509.CertificateBuilder(subject, subject, key.public_key(), x509.random_serial_number())
        .not_valid_before(now - timedelta(days=1))
        .not_valid_after(now + timedelta(days=1))
        .add_extension(x509.SubjectAlternativeName([x509.DNSName(name)]), critical=True)
        .add_extension(x509.BasicConstraints(ca=True, path_length=None), critical=True)
        .sign(key, hashes.SHA256())
    )
    shown = made.public_bytes(Encoding.PEM)
    (folder / "both.pem").write_bytes(shown + key.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption()))
    server = ssl.create_default_context(ssl.Purpose.CLIENT_AUTH)
    server.load_cert_chain(folder / "both.pem")
    return server, ssl.create_default_context(cadata=shown.decode())
