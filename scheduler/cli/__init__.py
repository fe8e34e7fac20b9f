"""The command line: thin. A command parses, calls one use case of the workflow, and prints.

Decisions
---------

The command line has no locale
    It asks for `Site.in_plain_formats()` once, so that nothing behind it has to know whom it writes for; a
    sitter's sheet is printed to be handed over and is written like a page. JSON, the log, UIDs and titles
    never depend on it. A `Formats` is handed on with site, case and house: there is nothing global to set,
    and two sites of one server differ.
"""

import atexit
import gc

# A command lives for a second and keeps nearly all it makes: the collector would walk over it again and
# again, and once more on the way out.
gc.set_threshold(200_000, 20, 20)
atexit.register(gc.freeze)
