"""What the lower floors found, as a person reads it in a terminal and as a program reads it in JSON."""
