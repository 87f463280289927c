"""How long a worker may be silent, and what follows from it. The shorter, the sooner lost plans are found."""

from workers.environment import whole_number

LEASE_SECONDS = whole_number("LAPSTOCK_LEASE_SECONDS", 15)
"""A running plan whose worker has not been heard of for so long has lost it."""
BEAT_SECONDS = min(0.5, LEASE_SECONDS / 10)
"""How often a running plan's progress goes out and a cancel can come in."""
SWEEP_SECONDS = LEASE_SECONDS / 5
"""How often each worker shows that it lives and looks for lost plans."""
ALIVE_SECONDS = LEASE_SECONDS
"""A worker not seen for so long is not counted as alive."""
