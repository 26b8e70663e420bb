"""Settings, read once from the environment and handed down from then on."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from importlib import resources
from ipaddress import IPv4Address, IPv6Address, ip_address
from pathlib import Path
from typing import Literal
from urllib.parse import SplitResult, unquote, urlsplit

from .domain.species import Profile, parse_profile
from .records.mail import BadMail, check_mail

DEFAULT_PORT = 8790
PHOTOS_MEGABYTES = 5000
"""What the photos of one household may take of the disk, where the operator says nothing: some ten thousand."""
MAIL = re.compile(r"mailto:[^@\s]+@[^@\s]+")


class BadSetting(Exception):
    """A setting that cannot be used; the message names it and says what it may be."""


@dataclass(frozen=True)
class Mail:
    """The mail server that reminders are handed to, and who they come from."""

    host: str
    port: int
    security: Literal["tls", "starttls", "plain"]
    """`plain` is for this very machine alone."""
    sender: str
    user: str = ""
    password: str = field(default="", repr=False)


@dataclass(frozen=True)
class Settings:
    """Everything an operator may choose."""

    database_url: str
    origin: str
    client_folder: Path | None
    contact: str
    plain_http_private: bool = False
    trust_forwarded: bool = False
    """A proxy of the operator's own stands in front and names the asker in X-Forwarded-For."""
    push_loopback: bool = False
    """Reminders may be handed to a push service on this very machine: for tests."""
    photos_folder: Path | None = None
    """Where photos lie; None: in a folder beside the SQLite file."""
    photos_limit_bytes: int = PHOTOS_MEGABYTES * 1_000_000
    """What the photos of one household may take."""
    mail: Mail | None = None
    """None: nothing is sent by e-mail."""


def data_folder(environ: Mapping[str, str]) -> Path:
    """The folder for this user's data by the XDG Base Directory Specification 0.8."""
    home = environ.get("XDG_DATA_HOME") or str(Path.home() / ".local" / "share")
    return Path(home) / "holdwatch"


def load_settings(environ: Mapping[str, str], port: int = DEFAULT_PORT) -> Settings:
    """Read `HOLDWATCH_*`; BadSetting if one cannot be used."""
    default_database = f"sqlite:///{data_folder(environ) / 'holdwatch.sqlite3'}"
    origin = environ.get("HOLDWATCH_ORIGIN", f"http://127.0.0.1:{port}").rstrip("/")
    private = _yes_or_no(environ, "HOLDWATCH_PLAIN_HTTP_PRIVATE")
    check_origin(origin, private)
    contact = environ.get("HOLDWATCH_CONTACT", "mailto:operator@example.org")
    check_contact(contact)
    return Settings(
        database_url=environ.get("HOLDWATCH_DATABASE", default_database),
        origin=origin,
        client_folder=_client_folder(environ),
        contact=contact,
        plain_http_private=private,
        trust_forwarded=_yes_or_no(environ, "HOLDWATCH_TRUST_FORWARDED"),
        push_loopback=_yes_or_no(environ, "HOLDWATCH_PUSH_LOOPBACK"),
        photos_folder=_photos_folder(environ),
        photos_limit_bytes=_megabytes(environ, "HOLDWATCH_PHOTOS_MEGABYTES", PHOTOS_MEGABYTES) * 1_000_000,
        mail=_mail(environ),
    )


def photos_folder(named: Path | None, database: str | None) -> Path:
    """The folder of photos: as it was named, or beside the SQLite file; BadSetting where there is neither."""
    if named is not None:
        return named
    if not database:
        raise BadSetting("HOLDWATCH_PHOTOS must name a folder: the database is no file that it could lie beside.")
    return photos_beside(Path(database))


def photos_beside(database: Path) -> Path:
    """The folder of photos that belongs to a SQLite file, or to a copy of one."""
    return database.with_name(database.name + "-photos")


def check_origin(origin: str, plain_http_private: bool) -> None:
    """Plain http is for this machine alone, or, where the operator says so, for a home network."""
    parts = _parts(origin)
    if parts is None or parts.scheme not in ("http", "https") or not parts.hostname:
        raise BadSetting(f"HOLDWATCH_ORIGIN must be an http or https address, not {origin!r}")
    # Browsers send their origin like this; one that is written otherwise would never equal it.
    if origin != f"{parts.scheme}://{parts.netloc}".lower() or "@" in origin or origin.endswith(_default_port(parts)):
        raise BadSetting(f"HOLDWATCH_ORIGIN must be like https://holdwatch.example, in small letters, not {origin!r}")
    if parts.scheme == "https" or _is_near(parts.hostname, plain_http_private):
        return
    raise BadSetting(
        f"HOLDWATCH_ORIGIN is {origin}: plain http is only for this machine. Use https, or for an address "
        "of a home network set HOLDWATCH_PLAIN_HTTP_PRIVATE=yes."
    )


def check_contact(contact: str) -> None:
    """Whom push services may write to, as RFC 8292, 2.1, has it: a mailto: or an https address."""
    parts = _parts(contact)
    plain = contact.isascii() and contact.isprintable() and " " not in contact
    mail = plain and MAIL.fullmatch(contact)
    page = plain and parts and parts.scheme == "https" and parts.hostname
    if not mail and not page:
        raise BadSetting(
            f"HOLDWATCH_CONTACT must be like mailto:you@holdwatch.example or https://holdwatch.example, not {contact!r}"
        )


def is_loopback(host: str) -> bool:
    """Whether a host, by name or address, is this very machine."""
    address = _address(host)
    mapped = address.ipv4_mapped if isinstance(address, IPv6Address) else None
    return host == "localhost" or (address is not None and (mapped or address).is_loopback)


def load_profiles() -> dict[str, Profile]:
    """The species profiles that come with the program, by id: the name of the file."""
    folder = resources.files(__package__) / "profiles"
    files = sorted((file for file in folder.iterdir() if file.name.endswith(".toml")), key=lambda file: file.name)
    return {file.name.removesuffix(".toml"): parse_profile(tomllib.loads(file.read_text("utf-8"))) for file in files}


def _parts(address: str) -> SplitResult | None:
    """The parts of an address; None where it is none."""
    try:
        parts = urlsplit(address)
        _ = parts.port
    except ValueError:
        return None
    return parts


def _default_port(parts: SplitResult) -> str:
    return ":443" if parts.scheme == "https" else ":80"


def _is_near(host: str, private_too: bool) -> bool:
    address = _address(host)
    # 0.0.0.0 counts as private, but it is every address of the machine.
    private = address is not None and address.is_private and not address.is_unspecified
    return is_loopback(host) or (private_too and private)


def _address(host: str) -> IPv4Address | IPv6Address | None:
    try:
        return ip_address(host)
    except ValueError:
        return None


def _mail(environ: Mapping[str, str]) -> Mail | None:
    server, sender = environ.get("HOLDWATCH_SMTP", ""), environ.get("HOLDWATCH_MAIL_FROM", "")
    password = _mail_password(environ)
    if not server:
        if sender or password:
            raise BadSetting("HOLDWATCH_SMTP must name the mail server too, such as smtp://you@mail.example:587")
        return None
    try:
        check_mail(sender)
    except BadMail as bad:
        raise BadSetting(f"HOLDWATCH_MAIL_FROM must be the address that reminders come from: {bad}") from None
    parts = _parts(server)
    # The password would stand in lists of processes and in logs.
    if parts is None or parts.password is not None or not _names_mail_server(parts):
        raise BadSetting(
            "HOLDWATCH_SMTP must be like smtp://you@mail.example:587 or smtps://you@mail.example:465, and the "
            "password in HOLDWATCH_SMTP_PASSWORD or in a file that HOLDWATCH_SMTP_PASSWORD_FILE names"
        )
    host, user = parts.hostname or "", unquote(parts.username or "")
    if bool(user) != bool(password) or not (user + password).isascii() or not (user + password).isprintable():
        raise BadSetting("HOLDWATCH_SMTP must have a user where there is a password, and both are plain characters")
    if parts.scheme == "smtps":
        return Mail(host, parts.port or 465, "tls", sender, user, password)
    return Mail(host, parts.port or 587, "plain" if is_loopback(host) else "starttls", sender, user, password)


def _names_mail_server(parts: SplitResult) -> bool:
    further = parts.path.rstrip("/") or parts.query or parts.fragment
    return parts.scheme in ("smtp", "smtps") and bool(parts.hostname) and not further


def _mail_password(environ: Mapping[str, str]) -> str:
    password, named = environ.get("HOLDWATCH_SMTP_PASSWORD", ""), environ.get("HOLDWATCH_SMTP_PASSWORD_FILE", "")
    if password and named:
        raise BadSetting("HOLDWATCH_SMTP_PASSWORD and HOLDWATCH_SMTP_PASSWORD_FILE are both set; one is enough")
    try:
        return Path(named).read_text("utf-8").rstrip("\r\n") if named else password
    except (OSError, UnicodeDecodeError):
        raise BadSetting(f"HOLDWATCH_SMTP_PASSWORD_FILE names {named}, which cannot be read") from None


def _yes_or_no(environ: Mapping[str, str], name: str) -> bool:
    value = environ.get(name, "no").lower()
    if value not in ("yes", "no"):
        raise BadSetting(f"{name} must be yes or no, not {value!r}")
    return value == "yes"


def _megabytes(environ: Mapping[str, str], name: str, otherwise: int) -> int:
    value = environ.get(name, str(otherwise))
    if not re.fullmatch("[0-9]{1,9}", value):
        raise BadSetting(f"{name} must be a number of megabytes, not {value!r}")
    return int(value)


def _photos_folder(environ: Mapping[str, str]) -> Path | None:
    named = environ.get("HOLDWATCH_PHOTOS")
    if named:
        if Path(named).exists() and not Path(named).is_dir():
            raise BadSetting(f"HOLDWATCH_PHOTOS names {named}, which is no folder")
        return Path(named)
    beside = environ.get("HOLDWATCH_DATABASE", "sqlite:").startswith("sqlite")
    return None if beside else data_folder(environ) / "photos"


def _client_folder(environ: Mapping[str, str]) -> Path | None:
    named = environ.get("HOLDWATCH_CLIENT")
    folder = Path(named) if named else Path(__file__).parents[2] / "webclient" / "dist"
    if named and not folder.is_dir():
        raise BadSetting(f"HOLDWATCH_CLIENT names {named}, which is no folder")
    return folder if (folder / "index.html").is_file() else None
