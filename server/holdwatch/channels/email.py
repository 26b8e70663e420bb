"""E-mail: one plain text for one duty, handed by SMTP (RFC 5321) to the mail server that the operator named."""

from __future__ import annotations

import hashlib
import smtplib
import socket
import ssl
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import datetime
from email.headerregistry import Address as MailAddress
from email.message import EmailMessage
from email.policy import SMTP
from email.utils import format_datetime
from re import match

from ..config import Mail
from ..records.mail import BadMail, check_mail
from .budget import Budget, current
from .message import Address, Message, Outcome

LONGEST_SECONDS = 10.0
"""For one message, from looking the mail server up to its answer."""
FROM_NAME = "Holdwatch"
WITH_LINK = "Open this to see it, and to say that it is done. No signing in; the link is yours alone:"
WITHOUT_LINK = "More about it:"
WHY = "You asked Holdwatch for reminders by e-mail. To change that:"


@dataclass(frozen=True)
class EmailChannel:
    """Writes to people's mail addresses; `origin` is where the links lead."""

    mail: Mail
    origin: str
    # Certificates are checked, and that they are the named host's.
    tls: ssl.SSLContext = field(default_factory=ssl.create_default_context, repr=False, compare=False)

    def send(self, address: Address, message: Message, now: datetime) -> Outcome:
        """Hand the message to the mail server, which sends it on.

        Where its answer is lost the same goes out again under the same Message-ID.
        """
        try:
            check_mail(address.endpoint)
        except BadMail as bad:
            return Outcome("refused", str(bad))
        try:
            with Budget(LONGEST_SECONDS):
                self._hand_over(address.endpoint, letter(self.mail.sender, self.origin, address, message, now))
        except (OSError, ssl.SSLError) as problem:
            return _trouble(problem)
        return Outcome("sent")

    def _hand_over(self, to: str, text: EmailMessage) -> None:
        line = _Line(self.mail, self.tls)
        try:
            if self.mail.security == "starttls":
                # Raises where the server, or somebody between us, does not offer it.
                line.starttls(context=self.tls)
            if self.mail.user:
                line.login(self.mail.user, self.mail.password)
            line.send_message(text, self.mail.sender, [to])
            # It is taken, whatever becomes of the line now.
            with suppress(OSError):
                line.quit()
        finally:
            line.close()


class _Line(smtplib.SMTP):
    """A line to the mail server that is cut when the time for the message is up."""

    def __init__(self, mail: Mail, tls: ssl.SSLContext) -> None:
        self._tls = tls if mail.security == "tls" else None
        # The name we greet with is the sender's: to ask the system for this machine's could take its time.
        name = mail.sender.partition("@")[2]
        super().__init__(mail.host, mail.port, local_hostname=name, timeout=LONGEST_SECONDS)

    def _get_socket(self, host: str, port: int, timeout: float) -> socket.socket:
        line = current().wait_for(lambda: socket.create_connection((host, port), timeout))
        current().hold(line)
        return self._tls.wrap_socket(line, server_hostname=host) if self._tls else line


def letter(sender: str, origin: str, address: Address, message: Message, now: datetime) -> EmailMessage:
    """The message as it goes out; RFC 5322 says what its headers are."""
    text = EmailMessage(policy=SMTP)
    text["From"] = MailAddress(FROM_NAME, addr_spec=sender)
    text["To"] = MailAddress(addr_spec=address.endpoint)
    text["Subject"] = _one_line(message.title)
    text["Date"] = format_datetime(now)
    text["Message-ID"] = f"<{_name_of(address, message)}@{sender.partition('@')[2]}>"
    # So that no absence note answers (RFC 3834, 5).
    text["Auto-Submitted"] = "auto-generated"
    text["Content-Language"] = message.language
    text.set_content(_body(origin, message), cte="quoted-printable")
    return text


def _body(origin: str, message: Message) -> str:
    lead, path = (WITH_LINK, message.link_path) if message.link_path else (WITHOUT_LINK, message.path)
    return f"{message.body}\n\n{lead}\n{origin}{path}\n\n-- \n{WHY}\n{origin}/household\n"


def _one_line(text: str) -> str:
    """The text without what could begin another header."""
    return "".join(letter if letter.isprintable() else " " for letter in text)


def _name_of(address: Address, message: Message) -> str:
    """The same for the same words to the same person about the same duty; the link is another in each try."""
    told = (address.id, address.endpoint, message.duty, message.title, message.body, message.until.isoformat())
    return hashlib.sha256("\0".join(told).encode()).hexdigest()[:40]


def _trouble(problem: OSError) -> Outcome:
    """What it means that a message was not taken. The server's own words are left out: they often name people."""
    if isinstance(problem, smtplib.SMTPRecipientsRefused):
        ((code, words),) = problem.recipients.values()
        return _answered(code, words, "about the person's address")
    if isinstance(problem, smtplib.SMTPAuthenticationError):
        return _answered(problem.smtp_code, problem.smtp_error, "to HOLDWATCH_SMTP's user and password")
    if isinstance(problem, smtplib.SMTPResponseException):
        return _answered(problem.smtp_code, problem.smtp_error, "")
    if isinstance(problem, ssl.SSLCertVerificationError):
        return Outcome("refused", f"the mail server's certificate is not believed: {problem.verify_message}")
    if isinstance(problem, smtplib.SMTPServerDisconnected) or not isinstance(problem, smtplib.SMTPException):
        return Outcome("later", type(problem).__name__)
    # It offers no TLS, or no way to sign in.
    return Outcome("refused", f"the mail server cannot be used: {type(problem).__name__}")


def _answered(code: int, words: bytes | str, about: str) -> Outcome:
    """By its first digit an answer is for good or for now (RFC 5321, 4.2.1); RFC 3463 has the finer code."""
    said = words.decode("ascii", "replace") if isinstance(words, bytes) else words
    finer = match(r"[245]\.\d{1,3}\.\d{1,3}\b", said)
    detail = " ".join(filter(None, ("the mail server answered", str(code), finer and finer[0], about)))
    return Outcome("refused" if 500 <= code <= 599 else "later", detail)
