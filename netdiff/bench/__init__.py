"""The page at the bench: a small server on this machine, one page, the tracing engine behind it."""
