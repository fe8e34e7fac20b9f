"""The command line: thin. A command parses, calls one use case of the workflow, and prints."""

import gc

# A command lives for a second and keeps nearly all it makes: the collector would only walk over it again and again.
gc.set_threshold(50_000, 20, 20)
