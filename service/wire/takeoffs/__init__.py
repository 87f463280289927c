"""Take-offs on the wire: what was measured, and what is taken off it."""
