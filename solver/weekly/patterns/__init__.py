"""Timed patterns: how they are priced, generated for all materials at once, and kept to choose from."""
