"""A requests session that goes where it was told to: no redirects, no proxies, checked addresses."""

from __future__ import annotations

from typing import Any
from urllib.parse import urlsplit

import requests
from requests.adapters import HTTPAdapter
from urllib3.exceptions import HTTPError

from .endpoints import EndpointRules, Resolve, checked_addresses

LONGEST_ANSWER = 2048


class CheckedAdapter(HTTPAdapter):
    """Connects to the very address that was checked, so that a name cannot lead elsewhere a moment later."""

    def __init__(self, rules: EndpointRules, look_up: Resolve) -> None:
        self.rules = rules
        self.look_up = look_up
        super().__init__(max_retries=0)

    def build_connection_pool_key_attributes(self, request, verify, cert=None):
        """Put the checked address in the place of the name; TLS and `Host` keep the name."""
        host_params, pool_kwargs = super().build_connection_pool_key_attributes(request, verify, cert)
        address = checked_addresses(request.url, self.rules, self.look_up)[0]
        name = host_params["host"].strip("[]")
        request.headers["Host"] = urlsplit(request.url).netloc
        if host_params["scheme"] == "https":
            pool_kwargs.update(server_hostname=name, assert_hostname=name)
        return {**host_params, "host": address}, pool_kwargs


class DirectSession(requests.Session):
    """Follows nothing, asks no environment, and reads only the beginning of an answer."""

    def __init__(self, rules: EndpointRules, look_up: Resolve) -> None:
        super().__init__()
        self.trust_env = False
        self.adapters.clear()
        for scheme in ("https://", "http://"):
            self.mount(scheme, CheckedAdapter(rules, look_up))

    def send(self, request: requests.PreparedRequest, **options: Any) -> requests.Response:
        """One request, one answer."""
        options.update(allow_redirects=False, stream=True)
        answer = super().send(request, **options)
        # An answer without end would otherwise fill the memory, so what `content` gives is set here.
        answer._content = _beginning(answer)
        answer._content_consumed = True
        answer.close()
        return answer


def _beginning(answer: requests.Response) -> bytes:
    """What came with the head of the answer; it only tells people why, so a broken one is an empty one."""
    try:
        return answer.raw.read1(LONGEST_ANSWER, decode_content=False)
    except HTTPError:
        return b""
