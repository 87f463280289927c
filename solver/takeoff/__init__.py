"""From a tape measure to the list of pieces: measured walls, ceilings and eaves become items to plan.

``take_off`` takes a ``House`` and returns a ``TakeOff``: items with their walls, trim, figures that carry their
arithmetic in words, and what is needed to draw the elevation. Nothing here plans, draws or reads a clock; numbers
that are rules of the trade live in ``rules``, ``cold`` and ``area`` with their sources.

Horizontal panels only: vertical, shake and foam-backed panels are not taken off.
"""

from solver.takeoff.answer import TakeOff
from solver.takeoff.measured import House
from solver.takeoff.taking import take_off

__all__ = ["House", "TakeOff", "take_off"]
