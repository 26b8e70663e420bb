"""Who asks, from where, and by which rules: checked before a view runs, written on every answer."""

from __future__ import annotations

import logging
from urllib.parse import urlsplit

import sqlalchemy as sa
from flask import Flask, Request, g, request
from sqlalchemy.exc import OperationalError
from werkzeug import Response
from werkzeug.exceptions import RequestEntityTooLarge

from ..config import is_loopback
from ..services import access
from ..store.database import writing
from .bodies import compress
from .errors import error
from .house import house

SAFE_METHODS = frozenset({"GET", "HEAD", "OPTIONS"})
# Here no cookie counts, but a token that no page of another site can know or make a browser send.
BY_TOKEN = frozenset({"/api/v1/readings"})
API = "/api/"
API_POLICY = "default-src 'none'"
PAGE_POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; connect-src 'self'; "
    "worker-src 'self'; manifest-src 'self'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'; "
    "require-trusted-types-for 'script'; trusted-types svelte-trusted-html holdwatch"
)
HSTS = "max-age=31536000"
FORWARDING_HEADERS = ("Forwarded", "X-Forwarded-For", "X-Forwarded-Host", "X-Forwarded-Proto", "X-Real-IP", "Via")
log = logging.getLogger(__name__)

# Where several people of a household are signed in on one phone, this says which of them asks.
PERSON = "Holdwatch-Person"
# On plain http, where a browser takes no such prefix, the cookie is called `holdwatch`.
OPENAPI_SCHEME = {
    "type": "apiKey",
    "in": "cookie",
    "name": "__Host-holdwatch",
    "description": "A phone that several people of a household share holds one for each of them, the further ones "
    f"with `-` and the person's id behind the name; the header `{PERSON}` names who asks. Without it, it is the one "
    "who signed in last.",
}


def guard(app: Flask) -> None:
    """Put the checks before every view of `app` and the headers on every answer."""
    for check in (_check_host, _check_site, _check_body):
        app.before_request(check)
    # Flask runs these in reverse.
    for finish in (compress, _add_headers, _note_seen):
        app.after_request(finish)


def who_asks(db: sa.Connection, asking: Request) -> access.Who:
    """Who asks; SignedOut where the request has no cookie of a living session of that person."""
    g.cookie, g.who = access.who_of_them(db, _held(asking), _named(asking), house().now())
    return g.who


def let_in(db: sa.Connection, opened: access.Opened, response: Response) -> Response:
    """Give the phone the session of whoever came in, beside those of the others who share it."""
    held = _held(request)
    stay = access.make_room(db, held, _named(request), opened, house().now())
    # The first person's cookie has the name that a client of one person knows.
    own = _cookie_name() if _cookie_name() not in stay else f"{_cookie_name()}-{opened.who.person_id}"
    for name in held.keys() - stay - {own}:
        _drop_cookie(response, name)
    return _set_cookie(response, own, opened.cookie_value)


def let_out(response: Response) -> Response:
    """Take the session of whoever asked from the phone; the others' stay."""
    g.who = None
    return _drop_cookie(response, g.cookie)


def _held(asking: Request) -> dict[str, str]:
    name = _cookie_name()
    return {held: value for held, value in asking.cookies.items() if held == name or held.startswith(f"{name}-")}


def _named(asking: Request) -> str | None:
    return asking.headers.get(PERSON)


def _set_cookie(response: Response, name: str, value: str) -> Response:
    # For as long as browsers keep a cookie.
    age = access.SESSION_DAYS * 24 * 3600
    response.set_cookie(name, value, max_age=age, path="/", secure=_https(), httponly=True, samesite="Lax")
    return response


def _drop_cookie(response: Response, name: str) -> Response:
    response.delete_cookie(name, path="/", secure=_https(), httponly=True, samesite="Lax")
    return response


def client_address() -> str:
    """Where the request comes from: the socket, or what our own proxy says where we were told of one."""
    hops = request.headers.get("X-Forwarded-For", "").split(",")
    if house().settings.trust_forwarded and hops[-1].strip():
        return hops[-1].strip()
    return request.remote_addr or "?"


def from_loopback() -> bool:
    """Whether the request was made on this machine, by the socket; what came through a proxy was not."""
    if any(name in request.headers for name in FORWARDING_HEADERS):
        return False
    return is_loopback(request.remote_addr or "") and is_loopback(_hostname(request.host))


def _check_host() -> Response | None:
    """Another name for our address is an attack by DNS rebinding, or a proxy set up wrongly."""
    host = request.host
    if host == urlsplit(house().settings.origin).netloc or is_loopback(_hostname(host)):
        return None
    return error(421, "wrong_host", f"This server answers at {house().settings.origin} only.")


def _check_site() -> Response | None:
    """Only our own pages may ask for changes: OWASP's fetch-metadata rule, or else the Origin."""
    if request.method in SAFE_METHODS or request.path in BY_TOKEN:
        return None
    site = request.headers.get("Sec-Fetch-Site")
    same = site == "same-origin" if site else request.headers.get("Origin") == house().settings.origin
    return None if same else error(403, "cross_site", "Changes can be made from this server's own pages only.")


def _check_body() -> Response | None:
    length, limit = request.content_length or 0, request.max_content_length
    if limit is not None and length > limit:
        raise RequestEntityTooLarge
    if request.method in SAFE_METHODS or not length or request.mimetype == "application/json":
        return None
    return error(415, "not_json", "The body must be JSON, with the content type application/json.")


def _note_seen(response: Response) -> Response:
    who = g.get("who")
    if who is None or request.method != "POST" or not access.seen_long_ago(who, house().now()):
        return response
    try:
        with writing(house().engine) as db:
            access.note_seen(db, who, house().now())
    except OperationalError as problem:
        # What was asked for is done already, and the next request notes it.
        log.warning("it was not noted that a phone was here: %s", problem.orig)
        return response
    return _set_cookie(response, g.cookie, request.cookies[g.cookie])


def _add_headers(response: Response) -> Response:
    headers = response.headers
    api = request.path.startswith(API)
    # The page of a link has a stricter one of its own.
    headers.setdefault("Content-Security-Policy", API_POLICY if api else PAGE_POLICY)
    headers["X-Content-Type-Options"] = "nosniff"
    headers["Cross-Origin-Resource-Policy"] = "same-origin"
    if api:
        # A photo never changes, and says so itself.
        headers.setdefault("Cache-Control", "no-store")
    else:
        # Of pages alone: what the API says has no links, and opens nothing.
        headers.setdefault("Referrer-Policy", "no-referrer")
        headers["Cross-Origin-Opener-Policy"] = "same-origin"
    if _https():
        headers["Strict-Transport-Security"] = HSTS
    return response


def _https() -> bool:
    return house().settings.origin.startswith("https:")


def _cookie_name() -> str:
    # The prefix binds the cookie to this very host (RFC 6265bis, 4.1.3.2), but only browsers on https take it.
    return "__Host-holdwatch" if _https() else "holdwatch"


def _hostname(host: str) -> str:
    try:
        return urlsplit(f"//{host}").hostname or ""
    except ValueError:
        return ""
