"""A crew's week in parts: what is asked, what stands, how dated sticks are cut, and the sheets that come of it.

``solver.weekly.planning`` is the table of contents. Days are counted from the week's Monday, which is 0; a delivery
of the week before has a negative day.
"""
