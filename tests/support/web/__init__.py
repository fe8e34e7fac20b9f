"""The served pages: a server, an HTTP client, a browser, descriptions to open in it."""
