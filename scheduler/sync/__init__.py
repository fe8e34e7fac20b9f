"""To-dos to and from a CalDAV server (RFC 4791)."""
