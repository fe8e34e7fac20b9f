"""Mails to keepers: what is due, what is news in it, and the thread that sends it."""
