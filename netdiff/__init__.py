"""Finds what separates the wiring of a unit on the bench from the wiring that its factory drew."""
