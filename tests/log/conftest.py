"""The databases of the tests of this folder."""

from servers import server, url

__all__ = ["server", "url"]
