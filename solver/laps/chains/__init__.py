"""Whole plans of runs from chains of sticks that share them: priced, placed on the walls, and dived for."""
