"""How much one request may ask for. Every limit is named in the error of whoever meets it."""

from solver.required import LONGEST_NAME

MATERIALS = 50
SUPPLIERS = 50
STOCK_ROWS = 100
PRICE_ROWS = 500
"""Stock lengths of a material of the catalogue, over all dates."""
OTHER_NAMES = 20
WALLS = 1_000
LINES = 5_000
PASTED_LINES = 10_000
"""Lines of a pasted list, with comments and blank ones."""
PASTED_CHARACTERS = 1_000_000
"""Characters of a pasted list: a hundred in each line."""
OFFCUTS = 5_000
MEASURED_WALLS = 100
"""Walls, ceilings or eaves of one take-off."""
OPENINGS = 60
"""Openings of one measured wall."""
CORNERS = 40
"""Points of one wall's outline."""
MARKS_ON_WALL = 200
"""Stretches to keep clear, or cut-outs, of one item."""
COURSES = 1_000
BATCH = 100
"""Requests in one batch."""
QUANTITY = 100_000
PIECES = 100_000
"""Pieces in one request, over all lines."""
STICKS_AT_HAND = 1_000_000
CARTON = 10_000
WAIT_DAYS = 366
BREAKS = 10
REPEAT = 1_000
SECONDS = 600
PRICE = 1_000_000
PRICE_DECIMALS = 4
ID = LONGEST_NAME
TEXT = 200
WRITTEN = 2_000
"""Characters of a line as somebody wrote it."""
NOTE = 1_000
"""Characters of a note."""
ADDRESS_LINES = 6
READY_DAYS = 250
TICKS = 1_000
"""Ticks in one request."""
STICK_FEET = 330
"""No stick is longer (100 m)."""
