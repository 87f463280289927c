"""Buying rules inside the optimisation: cartons, price breaks, fixed costs, and limits that cartons must keep to.

Where what sticks cost is more than their number times a price, the bill is a function of the sticks cut of each
length. ``bill`` works it out, ``choice`` seeks the cheapest purchase that no certificate rules out, ``search``
asks the engine of ``solver.cutting`` whether its sticks suffice and goes from one to the other until they meet, and
``purchase`` is the way in: the same ``Cutting`` comes out that ``solver.cutting.solve`` returns, its cost the bill.
Where cutting counts beside the bill (``saw``), ``whole`` weighs patterns and purchases together.
"""
