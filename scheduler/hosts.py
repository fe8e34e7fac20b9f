"""Which hosts are this machine: to them alone a password may go without encryption that nobody asked to do
without."""

from __future__ import annotations

import ipaddress


def is_this_machine(host: str) -> bool:
    """Tell whether a host, a name or an address without brackets, is this machine itself (RFC 1122, section
    3.2.1.3)."""
    if host == "localhost":
        return True
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return False
