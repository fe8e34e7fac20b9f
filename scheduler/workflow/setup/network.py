"""Where others in the house reach this machine: its address in the local network."""

from __future__ import annotations

import ipaddress
import socket

FAR = ((socket.AF_INET, "203.0.113.1"), (socket.AF_INET6, "2001:db8::1"))
"""Addresses that nobody has: of documentation, RFC 5737 and RFC 3849."""

DISCARD = 9


def local_address() -> str:
    """Return the address under which others in the local network reach this machine; "" where it has none.

    Nothing is sent: the system only says from which address it would send. An address of the internet at
    large is none of a house.
    """
    for family, far in FAR:
        try:
            with socket.socket(family, socket.SOCK_DGRAM) as probe:
                probe.connect((far, DISCARD))
                address = str(probe.getsockname()[0])
        except OSError:
            continue
        if is_local(address):
            return address
    return ""


def is_local(address: str) -> bool:
    """Tell whether an address is one of a local network, which others there can reach."""
    try:
        found = ipaddress.ip_address(address)
    except ValueError:
        return False
    apart = (
        found.is_global, found.is_loopback, found.is_unspecified, found.is_multicast, found.is_link_local,
    )  # fmt: skip
    return not any(apart)
