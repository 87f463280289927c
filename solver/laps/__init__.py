"""Runs longer than a stick: where their laps fall, decided together with the cutting."""

from solver.laps.solving import plan_laps

__all__ = ["plan_laps"]
