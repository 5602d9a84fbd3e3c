"""Where a server listens, and the names that a browser may call it by."""

from __future__ import annotations

import ipaddress
import socket

from diagnose.errors import BadInput


def listen(host: str, port: int) -> socket.socket:
    """Return a socket that listens; port 0 takes any that is free.

    Raises BadInput when there is no such address here, or when the port is taken.
    """
    try:
        family = socket.AF_INET6 if ":" in host else socket.AF_INET
        return socket.create_server((host, port), family=family)
    except (OSError, OverflowError, UnicodeError) as error:
        reason = getattr(error, "strerror", None) or error
        raise BadInput(f"cannot listen at {host}, port {port}: {reason}; try another --host or --port") from error


def hosts_of(host: str, port: int) -> frozenset[str]:
    """Return the names by which requests may call this server; empty, for any, where it listens at all addresses.

    Another site that has its own name lead to this address is refused so.

    >>> sorted(hosts_of("127.0.0.1", 80))
    ['127.0.0.1', '127.0.0.1:80', 'localhost', 'localhost:80']
    >>> hosts_of("0.0.0.0", 80)
    frozenset()
    """
    try:
        address = ipaddress.ip_address(host)
    except ValueError:
        names = {host.lower()}
    else:
        if address.is_unspecified:
            return frozenset()
        shown = f"[{host}]" if address.version == 6 else host
        names = {shown, "localhost"} if address.is_loopback else {shown}
    return frozenset({*names, *(f"{name}:{port}" for name in names)})
