"""The command line: thin. A command parses, calls one use case of the workflow, and prints."""
