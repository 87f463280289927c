"""What the checker proves, one part a module. Nothing here reads or calls the solver's mathematics.

Each part takes a ``Bench`` (one material's share of a job and of a plan) and yields faults; none changes
anything. Every rule is written from the meaning of the request, not from the way plans are made.
"""
