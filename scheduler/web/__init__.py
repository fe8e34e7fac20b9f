"""Feeds and the round page over HTTP."""
