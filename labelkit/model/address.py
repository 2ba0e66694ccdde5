"""Where the symbols of labels point: the address of a bench, without the code that follows it."""

from __future__ import annotations

import re
from collections.abc import Collection
from ipaddress import IPv6Address, ip_address
from typing import Final
from urllib.parse import urlsplit

from labelkit.errors import UsageError

# A name as the Internet's hosts have it (RFC 1123), with the underscore that shops' networks have besides.
_HOST: Final = re.compile(r"[a-z0-9_-]+(\.[a-z0-9_-]+)*", re.ASCII)
BENCH_PORT: Final = 8080
"""Where a bench answers, unless it is told otherwise."""
_PORTS: Final = {"http": 80, "https": 443}  # RFC 9110, section 4.2
_ALLOWED: Final = "allowed: http://HOST:PORT or https://HOST:PORT, as http://192.168.1.20:8080"


def base_address(text: str, name: str) -> str:
    """Return a base address as the symbols spell it: scheme in lower case, the rest in upper case.

    Args:
        text: as given; without a scheme it is http.
        name: what it was given as, for the message.

    Raises:
        UsageError: it is none.

    >>> base_address("bench.local:8080", "--address")
    'http://BENCH.LOCAL:8080'
    """
    try:
        parts = urlsplit(text if "://" in text else f"http://{text}")
        host, port = parts.hostname or "", parts.port
    except ValueError as error:
        raise UsageError(f"{name} {text}: {error}; {_ALLOWED}") from error
    known = _is_ipv6(host) if "[" in parts.netloc else _HOST.fullmatch(host)
    if parts.scheme not in ("http", "https") or not known:
        raise UsageError(f"{name} {text}: {_ALLOWED}")
    if parts.username is not None or port == 0:
        raise UsageError(f"{name} {text}: {'no port is 0' if port == 0 else 'leave out the user'}; {_ALLOWED}")
    if parts.path.strip("/") or parts.query or parts.fragment:
        raise UsageError(f"{name} {text}: leave out what follows the port; the code follows it on the label")
    shown = f"[{host}]" if ":" in host else host
    return f"{parts.scheme}://{shown.upper()}" + (f":{port}" if port else "")


def is_own(address: str) -> bool:
    """Say whether a base address leads every device to itself, and no phone to the bench.

    >>> is_own("http://LOCALHOST:8080"), is_own("http://127.0.0.2"), is_own("http://192.168.1.20:8080")
    (True, True, False)
    """
    host = urlsplit(address).hostname or ""
    try:
        return ip_address(host).is_loopback
    except ValueError:
        return host == "localhost" or host.endswith(".localhost")  # RFC 6761


def port_of(address: str) -> int:
    """Return the port that a base address means, also where it names none.

    >>> port_of("http://10.0.0.5"), port_of("https://BENCH.EXAMPLE"), port_of("http://10.0.0.5:8080")
    (80, 443, 8080)
    """
    parts = urlsplit(address)
    return parts.port or _PORTS[parts.scheme]


def reaches(address: str, hosts: Collection[str], port: int) -> bool:
    """Say whether a base address leads to a bench that has these names, in lower case, and answers at a port."""
    return urlsplit(address).hostname in hosts and port_of(address) == port


def with_port(address: str) -> str:
    """Return a base address for people, with the port that it means where it names none.

    >>> with_port("http://10.0.0.5"), with_port("http://10.0.0.5:8080")
    ('http://10.0.0.5 (port 80)', 'http://10.0.0.5:8080')
    """
    return address if urlsplit(address).port else f"{address} (port {port_of(address)})"


def _is_ipv6(host: str) -> bool:
    try:
        return IPv6Address(host).scope_id is None  # a scope is known to one computer only
    except ValueError:
        return False
