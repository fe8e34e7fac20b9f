"""What people say was done, measured, remarked or wrong: into the log, and back out of it."""
