"""The counter page in a real browser."""
