"""The databases of the tests of this folder."""

from support.servers import empty_log, new_url, server, url

__all__ = ["empty_log", "new_url", "server", "url"]
