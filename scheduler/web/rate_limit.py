"""How much one client may ask: a bucket of goes that fills up again.

Whoever is honest never finds it empty.
"""

from __future__ import annotations

import ipaddress
from collections import OrderedDict
from collections.abc import Callable

MOST_CLIENTS = 20_000
"""So many clients are remembered; of more, those that came longest ago are forgotten."""


class TokenBucket:
    """So many goes at once, and so many more in a second, for each client. One thread uses it."""

    def __init__(self, at_once: int, a_second: float, clock: Callable[[], float]) -> None:
        """Take the clock, in seconds, which only has to go on."""
        self._at_once, self._a_second, self._clock = at_once, a_second, clock
        self._left: OrderedDict[str, tuple[float, float]] = OrderedDict()

    def wait(self, client: str) -> float:
        """Take one go, and return 0; or return how many seconds it takes until there is one."""
        now = self._clock()
        left, then = self._left.pop(client, (float(self._at_once), now))
        left = min(float(self._at_once), left + max(0.0, now - then) * self._a_second)
        taken = left >= 1.0
        self._left[client] = (left - 1.0 if taken else left, now)
        if len(self._left) > MOST_CLIENTS:
            self._left.popitem(last=False)
        return 0.0 if taken else (1.0 - left) / self._a_second

    def is_out(self, client: str) -> bool:
        """Tell whether no go is left, without taking one."""
        left, then = self._left.get(client, (float(self._at_once), self._clock()))
        return left + max(0.0, self._clock() - then) * self._a_second < 1.0


def network_of(address: str) -> str:
    """Return what counts as one client: an IPv4 address, or the 64 bits of an IPv6 network that one customer
    is given."""
    try:
        found = ipaddress.ip_address(address)
    except ValueError:
        return address
    if isinstance(found, ipaddress.IPv6Address):
        if found.ipv4_mapped is not None:
            return str(found.ipv4_mapped)
        return str(ipaddress.ip_network((found, 64), strict=False))
    return str(found)
