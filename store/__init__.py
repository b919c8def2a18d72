"""Jobs, entries, their storage, and what the log adds up to."""
