"""The command line: thin. A command parses, calls one use case of the workflow, and prints."""

import atexit
import gc

# A command lives for a second and keeps nearly all it makes: the collector would walk over it again and again, and
# once more on the way out.
gc.set_threshold(200_000, 20, 20)
atexit.register(gc.freeze)
