"""Which addresses this server may write to: a subscription comes from outside and could name anything."""

from __future__ import annotations

import socket
from collections.abc import Callable
from dataclasses import dataclass
from ipaddress import IPv4Address, IPv6Address, ip_address, ip_network
from urllib.parse import SplitResult, urlsplit

LONGEST_ENDPOINT = 2000
PORTS = {"https": 443, "http": 80}

# The only part of IPv6 that addresses are given out from (IANA, Internet Protocol Version 6 Address Space).
GIVEN_OUT = ip_network("2000::/3")
# Blocks for a special purpose in the rest of both spaces (RFC 6890 and its registries at IANA): no push service lives
# in one, some lead to any IPv4 address at all, and what Python calls global differs from one version to the next.
SPECIAL = tuple(
    ip_network(block)
    for block in (
        "0.0.0.0/8",
        "10.0.0.0/8",
        "100.64.0.0/10",
        "127.0.0.0/8",
        "169.254.0.0/16",
        "172.16.0.0/12",
        "192.0.0.0/24",
        "192.0.2.0/24",
        "192.31.196.0/24",
        "192.52.193.0/24",
        "192.88.99.0/24",
        "192.168.0.0/16",
        "192.175.48.0/24",
        "198.18.0.0/15",
        "198.51.100.0/24",
        "203.0.113.0/24",
        "240.0.0.0/4",
        "2001::/23",
        "2001:db8::/32",
        "2002::/16",
        "2620:4f:8000::/48",
        "3fff::/20",
    )
)

Resolve = Callable[[str, int], list[str]]


class EndpointRefused(Exception):
    """An endpoint this server will not write to; the message says why."""


class EndpointUnknown(Exception):
    """The endpoint's name cannot be looked up just now."""


@dataclass(frozen=True)
class EndpointRules:
    """What is allowed beyond https on port 443 to addresses of the open internet."""

    ports: frozenset[int] = frozenset({443})
    loopback: bool = False
    """A push service on this very machine, by http or https on any port: for tests."""


def resolve(host: str, port: int) -> list[str]:
    """Every address of `host`, in the order the system prefers; EndpointUnknown if it has none now."""
    try:
        found = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM)
    except (OSError, UnicodeError) as problem:
        raise EndpointUnknown(f"the name {host[:100]} cannot be looked up") from problem
    return list(dict.fromkeys(str(entry[4][0]) for entry in found))


def checked_addresses(endpoint: str, rules: EndpointRules, look_up: Resolve = resolve) -> list[str]:
    """The addresses to connect to; EndpointRefused unless every one of them may be written to."""
    parts = _split(endpoint)
    host, port = _host(parts), _port(parts)
    if not rules.loopback:
        _check_form(parts, port, rules)
    addresses = look_up(host, port)
    if not addresses:
        raise EndpointUnknown(f"the name {host[:100]} has no address")
    if rules.loopback and all(_is_loopback(address) for address in addresses):
        return addresses
    _check_form(parts, port, rules)
    for address in addresses:
        if not _is_open_internet(address):
            raise EndpointRefused(f"{host[:100]} leads to {address}, which is not on the open internet")
    return addresses


def endpoint_origin(endpoint: str) -> str:
    """Scheme, host and, where it is not the usual one, port: the audience of RFC 8292 section 2."""
    parts = _split(endpoint)
    host, port = _host(parts), _port(parts)
    named = f"[{host}]" if ":" in host else host
    return f"{parts.scheme}://{named}" + ("" if port == PORTS[parts.scheme] else f":{port}")


def _split(endpoint: str) -> SplitResult:
    if len(endpoint) > LONGEST_ENDPOINT or not endpoint.isascii() or not endpoint.isprintable() or " " in endpoint:
        raise EndpointRefused("an endpoint is a plain https address of at most 2000 characters")
    try:
        parts = urlsplit(endpoint)
    except ValueError:
        raise EndpointRefused("the endpoint is no address") from None
    if parts.scheme not in PORTS:
        raise EndpointRefused("an endpoint must be https")
    if "@" in parts.netloc:
        raise EndpointRefused("an endpoint may not carry a name and password")
    return parts


def _check_form(parts: SplitResult, port: int, rules: EndpointRules) -> None:
    if parts.scheme != "https":
        raise EndpointRefused("an endpoint must be https")
    if port not in rules.ports:
        raise EndpointRefused(f"an endpoint may not be on port {port}")


def _host(parts: SplitResult) -> str:
    if not parts.hostname:
        raise EndpointRefused("the endpoint names no host")
    return parts.hostname


def _port(parts: SplitResult) -> int:
    try:
        return PORTS[parts.scheme] if parts.port is None else parts.port
    except ValueError:
        raise EndpointRefused("the endpoint's port is no port") from None


def _plain(address: str) -> IPv4Address | IPv6Address:
    """The address without a scope, and an IPv4 address that is written as IPv6 as what it is."""
    found = ip_address(address.partition("%")[0])
    mapped = found.ipv4_mapped if isinstance(found, IPv6Address) else None
    return mapped or found


def _is_loopback(address: str) -> bool:
    return _plain(address).is_loopback


def _is_open_internet(address: str) -> bool:
    found = _plain(address)
    special = any(found in block for block in SPECIAL if block.version == found.version)
    return found.is_global and not found.is_multicast and not special and (found.version == 4 or found in GIVEN_OUT)
