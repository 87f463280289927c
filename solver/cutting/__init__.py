"""The mathematics of cutting, in plain integers.

``solve`` goes one method after the other, cheapest first, until cost and bound meet::

    presolve -> greedy, instant bounds -> column generation -> dives -> numbers of sticks -> arc-flow, more dives

Greedy plans and instant bounds close easy lists. The linear program's bound and a dive close most lists of one
stock length. Searching the numbers of sticks closes lists of several priced lengths; arc-flow settles numbers that no
dive fills, and closes those with no plan at the rounded bound. ``tidy`` then looks among plans of equal cost.
"""

from solver.cutting.problem import Cutting, CuttingProblem, Duals, Pattern, Piece, Search, Stick
from solver.cutting.solve import solve
from solver.cutting.tidy import tidy

__all__ = ["Cutting", "CuttingProblem", "Duals", "Pattern", "Piece", "Search", "Stick", "solve", "tidy"]
