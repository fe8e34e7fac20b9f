"""What a person or another program reads: terminal tables, and JSON lines."""
