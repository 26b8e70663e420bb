"""The address that was checked is the address that is written to, and TLS still asks for the name."""

from __future__ import annotations

import ssl
from datetime import UTC, datetime, timedelta

import pytest
from cryptography import x509
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.serialization import Encoding, NoEncryption, PrivateFormat
from cryptography.x509.oid import NameOID

from channels.push_endpoint import PushEndpoint
from channels.test_push import KEY, NOW, address, message
from holdwatch.channels.endpoints import EndpointRules
from holdwatch.channels.push import PushChannel

NAME = "push.example.net"


class Names:
    """A name service whose answers change from one question to the next."""

    def __init__(self, *answers: str) -> None:
        self.answers = list(answers)
        self.asked: list[str] = []

    def __call__(self, host: str, port: int) -> list[str]:
        self.asked.append(host)
        return [self.answers.pop(0)]


def channel_with(names: Names, trust=None, port: int = 443) -> PushChannel:
    """A channel that asks `names` and trusts the certificate in `trust`."""
    rules = EndpointRules(ports=frozenset({port}), loopback=True)
    tls = {"tls": ssl.create_default_context(cafile=trust)} if trust else {}
    return PushChannel(KEY, "mailto:operator@example.org", "https://watch.example.org", rules, names, **tls)


@pytest.fixture
def certificate(tmp_path):
    """A certificate for the name alone, which signs itself."""
    key = ec.generate_private_key(ec.SECP256R1())
    who = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, NAME)])
    start = datetime.now(UTC) - timedelta(days=1)
    made = (
        x509.CertificateBuilder(
            who, who, key.public_key(), x509.random_serial_number(), start, start + timedelta(days=9)
        )
        .add_extension(x509.SubjectAlternativeName([x509.DNSName(NAME)]), False)
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), True)
        .sign(key, hashes.SHA256())
    )
    file = tmp_path / "certificate.pem"
    file.write_bytes(
        made.public_bytes(Encoding.PEM) + key.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption())
    )
    return file


@pytest.fixture
def secure(certificate):
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.load_cert_chain(certificate)
    with PushEndpoint(context, NAME, NOW) as running:
        yield running


def test_the_name_is_looked_up_once_and_kept_for_tls_and_host(secure, certificate):
    names = Names("127.0.0.1")
    outcome = channel_with(names, certificate).send(address(secure.phone("ada")), message(), NOW)
    assert outcome.result == "sent", outcome
    assert names.asked == [NAME]
    (got,) = secure.delivered()
    assert got.headers["host"] == secure.origin.removeprefix("https://")
    assert got.claims["aud"] == secure.origin


def test_a_name_that_leads_home_at_the_second_question_is_refused_there(secure, certificate):
    names = Names("127.0.0.1", "10.0.0.7")
    channel = channel_with(names, certificate, secure.server.server_address[1])
    phone = secure.phone("ada")
    assert channel.send(address(phone), message(), NOW).result == "sent"
    outcome = channel.send(address(phone), message(), NOW)
    assert outcome.result == "refused" and "10.0.0.7" in outcome.detail
    assert len(secure.delivered()) == 1


def test_a_certificate_for_another_name_is_not_taken(certificate):
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.load_cert_chain(certificate)
    with PushEndpoint(context, "other.example.net") as endpoint:
        outcome = channel_with(Names("127.0.0.1"), certificate).send(address(endpoint.phone("ada")), message(), NOW)
    assert (outcome.result, outcome.detail) == ("later", "SSLError")
    assert endpoint.received == []


def test_a_certificate_nobody_vouches_for_is_not_taken(secure):
    outcome = channel_with(Names("127.0.0.1")).send(address(secure.phone("ada")), message(), NOW)
    assert (outcome.result, outcome.detail) == ("later", "SSLError")
    assert secure.received == []
