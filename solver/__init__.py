"""What is true about cutting: pure computation on exact lengths.

Nothing here reads or writes anything, knows the web or a queue, or looks at a clock other than the
one it is handed. ``plan_job`` takes a ``Job`` and returns a checked ``CutPlan``.
"""

from solver.planning import plan_job
from solver.progress import Progress

__all__ = ["Progress", "plan_job"]
