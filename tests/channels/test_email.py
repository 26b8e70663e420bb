"""E-mail, against a real mail server on this machine, with and without TLS."""

from __future__ import annotations

import socket
import threading
from datetime import UTC, datetime, timedelta
from time import monotonic
from types import SimpleNamespace

import pytest

from channels.mail_server import PASSWORD, USER, Post, certificate, free_port, running
from holdwatch.channels import email
from holdwatch.channels.email import EmailChannel
from holdwatch.channels.message import Address, Message
from holdwatch.config import BadSetting, Mail, load_settings
from holdwatch.records.mail import BadMail, check_mail
from holdwatch.serving import _channels

NOW = datetime(2026, 11, 25, 18, 30, tzinfo=UTC)
ILKA = Address("p1", "ilka@reedmarsh.example", "", "")
ORIGIN = "https://watch.example.org"
SENDER = "watch@post.example"


def message(**changes) -> Message:
    """A reminder with a link, as it is sent."""
    plain = {
        "title": "Catch him tonight, 22:30",
        "body": "Under dim red light – 26.5 °C.",
        "path": "/brood/b1?duty=catch:b1",
        "duty": "catch:b1",
        "brood": "b1",
        "urgent": True,
        "until": NOW + timedelta(hours=12),
        "link_path": "/d/" + "x" * 120,
    }
    return Message(**{**plain, **changes})


def channel(port: int, security="plain", host="127.0.0.1", tls=None, **user) -> EmailChannel:
    mail = Mail(host, port, security, SENDER, **user)
    return EmailChannel(mail, ORIGIN) if tls is None else EmailChannel(mail, ORIGIN, tls)


@pytest.fixture
def post():
    return Post()


@pytest.fixture
def port(post):
    with running(post) as found:
        yield found


def test_a_letter_arrives_with_the_words_and_the_link(post, port):
    assert channel(port).send(ILKA, message(), NOW).result == "sent"
    assert [(sender, to) for sender, to, _ in post.came] == [(SENDER, [ILKA.endpoint])]
    letter = post.letter()
    assert letter["Subject"] == "Catch him tonight, 22:30"
    assert (letter["From"], letter["To"]) == (f"Holdwatch <{SENDER}>", ILKA.endpoint)
    assert letter["Date"].datetime == NOW
    # RFC 3834, 5: so that nobody's absence note answers.
    assert letter["Auto-Submitted"] == "auto-generated"
    assert (letter.get_content_type(), letter.get_content_charset()) == ("text/plain", "utf-8")
    lines = letter.get_content().splitlines()
    assert lines[0] == "Under dim red light – 26.5 °C."
    assert f"{ORIGIN}/d/{'x' * 120}" in lines


def test_lines_are_as_long_as_mail_allows_and_plain_ascii(post, port):
    channel(port).send(ILKA, message(body="Längs " * 400, title="Fång honom " * 30), NOW)
    ((_, _, content),) = post.came
    # RFC 5322, 2.1.1: at most 998 characters, better 78.
    assert max(len(line) for line in content.split(b"\r\n")) <= 78
    assert content.isascii() and b"\n" not in content.replace(b"\r\n", b"")
    assert post.letter()["Subject"] == ("Fång honom " * 30)


def test_without_a_link_it_leads_to_the_page(post, port):
    channel(port).send(ILKA, message(link_path=""), NOW)
    assert f"{ORIGIN}/brood/b1?duty=catch:b1" in post.letter().get_content().splitlines()


def test_the_id_is_one_deliverys_own(post, port):
    """RFC 5322, 3.6.4. What is handed over twice after a crash is the same message, whose link may be another."""
    other = Address("p2", "joris@reedmarsh.example", "", "")
    tries = [(ILKA, {}), (ILKA, {"link_path": "/d/other"}), (other, {}), (ILKA, {"title": "Catch him now"})]
    for address, changes in tries:
        channel(port).send(address, message(**changes), NOW)
    first, again, to_other, moved = (content.split(b"Message-ID: ")[1].split()[0] for _, _, content in post.came)
    assert first == again
    assert len({first, to_other, moved}) == 3
    assert first.endswith(b"@post.example>")


@pytest.mark.parametrize(
    "bad", ["Hello\r\nBcc: eve@quarry.example", "Hello\nBcc: eve@quarry.example\n\nMine", "a\x00b\u2028c"]
)
def test_no_text_becomes_a_header(post, port, bad):
    assert channel(port).send(ILKA, message(title=bad, body=bad), NOW).result == "sent"
    letter = post.letter()
    assert "Bcc" not in letter
    assert len(letter["Subject"].splitlines()) == 1
    assert [to for _, to, _ in post.came] == [[ILKA.endpoint]]


@pytest.mark.parametrize(
    "bad",
    ["", "ilka", "@reedmarsh.example", "ilka@", "ilka@localhost", "il ka@reedmarsh.example", "ilka@reed..example"]
    + ["ilka@reedmarsh.example\r\nBcc: eve@quarry.example", "ilka@reedmarsh.example\n", "a,b@reedmarsh.example"]
    + ["<ilka@reedmarsh.example>", "ilka@reedmarsh.example eve@quarry.example", "å@reedmarsh.example"]
    # RFC 5321, 4.5.3.1: the longest local part and the longest path.
    + ["a" * 65 + "@reedmarsh.example", "a@" + "b." * 126 + "example"],
)
def test_what_is_no_address_is_refused_before_anybody_is_asked(post, port, bad):
    with pytest.raises(BadMail):
        check_mail(bad)
    assert channel(port).send(Address("p1", bad, "", ""), message(), NOW).result == "refused"
    assert post.came == []


@pytest.mark.parametrize("good", ["ilka@reedmarsh.example", "o'hara+reef@a-b.c1.example", "a" * 64 + "@d.example"])
def test_addresses_that_people_have_are_taken(good):
    check_mail(good)


@pytest.mark.parametrize(
    ("what", "answer", "result"),
    [
        # RFC 5321, 4.2.1: 4 is for now, 5 is for good.
        ("to_recipient", "450 4.2.1 ilka@reedmarsh.example is busy", "later"),
        ("to_recipient", "550 5.1.1 ilka@reedmarsh.example: no such user", "refused"),
        ("to_sender", "451 4.3.0 not now", "later"),
        ("to_sender", "553 5.7.1 not yours", "refused"),
        ("to_data", "452 4.3.1 disk full", "later"),
        ("to_data", "554 5.7.1 we do not like ilka@reedmarsh.example", "refused"),
        ("to_data", "421 4.3.2 going down", "later"),
    ],
)
def test_what_is_answered_counts_and_names_nobody(post, port, what, answer, result):
    setattr(post, what, answer)
    outcome = channel(port).send(ILKA, message(), NOW)
    assert outcome.result == result
    assert " ".join(answer.split()[:2]) in outcome.detail
    assert "ilka" not in outcome.detail


def test_over_starttls_with_a_password(tmp_path, post):
    server, believed = certificate(tmp_path, "localhost")
    with running(post, tls_context=server, require_starttls=True, auth_required=True) as port:
        known = {"user": USER, "password": PASSWORD}
        assert channel(port, "starttls", "localhost", believed, **known).send(ILKA, message(), NOW).result == "sent"
        wrong = channel(port, "starttls", "localhost", believed, user=USER, password="guessed")
        outcome = wrong.send(ILKA, message(), NOW)
    # RFC 4954, 6.
    assert outcome.result == "refused" and "535" in outcome.detail and "guessed" not in outcome.detail
    assert len(post.came) == 1


def test_over_tls_from_the_first_octet(tmp_path, post):
    server, believed = certificate(tmp_path, "localhost")
    with running(post, ssl_context=server) as port:
        assert channel(port, "tls", "localhost", believed).send(ILKA, message(), NOW).result == "sent"
    assert len(post.came) == 1


@pytest.mark.parametrize(("security", "how"), [("starttls", "tls_context"), ("tls", "ssl_context")])
def test_a_certificate_that_is_not_believed_or_anothers_ends_it(tmp_path, post, security, how):
    server, believed = certificate(tmp_path, "other.example")
    with running(post, **{how: server}) as port:
        for tls in (believed, None):
            outcome = channel(port, security, "localhost", tls).send(ILKA, message(), NOW)
            assert outcome.result == "refused" and "certificate" in outcome.detail
    assert post.came == []


def test_nothing_goes_out_where_starttls_is_not_offered(post, port):
    """RFC 3207, 6: somebody between may have taken the offer away."""
    assert channel(port, "starttls").send(ILKA, message(), NOW).result == "refused"
    assert post.came == []


def test_a_server_that_cannot_be_reached_is_tried_again():
    assert channel(free_port()).send(ILKA, message(), NOW).result == "later"


def test_a_server_that_answers_drop_by_drop_holds_us_no_longer_than_one_message_may_take(monkeypatch):
    monkeypatch.setattr(email, "LONGEST_SECONDS", 0.6)
    with socket.create_server(("127.0.0.1", 0)) as server:
        done = threading.Event()
        drops = threading.Thread(target=drip, args=(server, done))
        drops.start()
        began = monotonic()
        outcome = channel(server.getsockname()[1]).send(ILKA, message(), NOW)
        took = monotonic() - began
        done.set()
        drops.join()
    assert outcome.result == "later"
    assert took < 3


def drip(server: socket.socket, done: threading.Event) -> None:
    """One octet of a greeting now and then, never the end of the line."""
    line, _ = server.accept()
    with line:
        while not done.wait(0.1):
            try:
                line.sendall(b"2")
            except OSError:
                return


def environ(**more: str) -> dict[str, str]:
    return {f"HOLDWATCH_{name}": value for name, value in more.items()}


def test_the_settings_are_read(tmp_path):
    (tmp_path / "secret").write_text("a secret\n")
    of_file = environ(SMTP="smtps://me%40a.example@a.example", SMTP_PASSWORD_FILE=str(tmp_path / "secret"))
    assert load_settings(of_file | environ(MAIL_FROM=SENDER)).mail == Mail(
        "a.example", 465, "tls", SENDER, "me@a.example", "a secret"
    )
    by_name = environ(SMTP="smtp://me@a.example:25", SMTP_PASSWORD="b", MAIL_FROM=SENDER)
    assert load_settings(by_name).mail == Mail("a.example", 25, "starttls", SENDER, "me", "b")
    assert load_settings(environ(SMTP="smtp://127.0.0.1:2525", MAIL_FROM=SENDER)).mail == Mail(
        "127.0.0.1", 2525, "plain", SENDER
    )
    assert load_settings({}).mail is None
    assert "secret" not in repr(load_settings(of_file | environ(MAIL_FROM=SENDER)))


@pytest.mark.parametrize(
    ("given", "named"),
    [
        ({"SMTP": "smtp://a.example"}, "HOLDWATCH_MAIL_FROM"),
        ({"SMTP": "smtp://a.example", "MAIL_FROM": "Watch <w@a.example>"}, "HOLDWATCH_MAIL_FROM"),
        ({"MAIL_FROM": SENDER}, "HOLDWATCH_SMTP"),
        ({"SMTP_PASSWORD": "b"}, "HOLDWATCH_SMTP"),
        ({"SMTP": "smtp://me:b@a.example", "MAIL_FROM": SENDER}, "HOLDWATCH_SMTP_PASSWORD"),
        ({"SMTP": "a.example:25", "MAIL_FROM": SENDER}, "HOLDWATCH_SMTP"),
        ({"SMTP": "https://a.example", "MAIL_FROM": SENDER}, "HOLDWATCH_SMTP"),
        ({"SMTP": "smtp://a.example:port", "MAIL_FROM": SENDER}, "HOLDWATCH_SMTP"),
        ({"SMTP": "smtp://a.example/box", "MAIL_FROM": SENDER}, "HOLDWATCH_SMTP"),
        ({"SMTP": "smtp://me@a.example", "MAIL_FROM": SENDER}, "a user where there is a password"),
        ({"SMTP": "smtp://me@a.example", "SMTP_PASSWORD": "ä", "MAIL_FROM": SENDER}, "plain characters"),
        ({"SMTP": "smtp://me@a.example", "SMTP_PASSWORD_FILE": "/nowhere", "MAIL_FROM": SENDER}, "cannot be read"),
        ({"SMTP_PASSWORD": "b", "SMTP_PASSWORD_FILE": "/nowhere"}, "one is enough"),
    ],
)
def test_settings_that_cannot_be_used_are_said(given, named):
    with pytest.raises(BadSetting, match=named) as refused:
        load_settings(environ(**given))
    assert ":b@" not in str(refused.value)


def test_the_loop_gets_the_channel_where_it_is_set_up(settings):
    identity = SimpleNamespace(vapid_private="AAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAE")
    assert set(_channels(identity, settings)) == {"push"}
    with_mail = load_settings(environ(SMTP="smtp://localhost", MAIL_FROM=SENDER))
    assert set(_channels(identity, with_mail)) == {"push", "email"}
