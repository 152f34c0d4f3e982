"""One module a command: what it is about, what it takes, what it does; loaded by name, so that each starts alone."""
