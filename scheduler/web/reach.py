"""Under which address others reach the server, and how phones in the house are let in."""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from urllib.parse import urlsplit

from scheduler.errors import WriteError
from scheduler.hosts import is_this_machine

Listen = Callable[[str], Awaitable[int]]
"""Has the server listen at one more address, and returns the port. WriteError where that cannot be."""


EVERYWHERE = ("0.0.0.0", "::")
"""What a server listens at that listens at each address of its machine; none to go to."""


class Reach:
    """Under which address others reach the server: as it was told, or in the local network once somebody
    allowed it. No slash at its end; empty while there is none."""

    def __init__(self, url: str = "", *, everywhere: bool = False) -> None:
        """Take the address, where it is known, and whether the server listens at every one of its machine
        anyway."""
        self.url, self.everywhere = url, everywhere
        self.listen: Listen | None = None

    async def open_to(self, address: str) -> None:
        """Let whoever is in the local network reach the server at an address of this machine.

        WriteError where the address cannot be listened to.
        """
        if self.listen is None:
            raise WriteError("this server cannot listen anywhere else; begin it with --host")
        port = await self.listen(address)
        self.url = f"http://{f'[{address}]' if ':' in address else address}:{port}"


def leads_elsewhere(address: str) -> bool:
    """Tell whether a web address means the same machine for everybody: one of the loopback means another one
    on each, and no code may carry it."""
    try:
        host = urlsplit(address).hostname or ""
    except ValueError:
        return False
    return bool(host) and not is_this_machine(host) and host not in EVERYWHERE
