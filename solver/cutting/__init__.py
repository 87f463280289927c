"""The mathematics of cutting, in plain integers."""

from solver.cutting.problem import Cutting, CuttingProblem, Duals, Pattern, Piece, Search, Stick
from solver.cutting.solve import solve
from solver.cutting.tidy import tidy

__all__ = ["Cutting", "CuttingProblem", "Duals", "Pattern", "Piece", "Search", "Stick", "solve", "tidy"]
