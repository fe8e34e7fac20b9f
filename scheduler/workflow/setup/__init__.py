"""A set-up from nothing: which file it writes, what follows from the answers so far, and where phones reach
this machine."""
