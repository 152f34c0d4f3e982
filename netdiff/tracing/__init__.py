"""What to ask next while a unit is traced, and what the answers make of its found file."""
