"""Faults put into the code on purpose, one at a time, each with the tests that must notice it.

``python -m tests.mutation`` copies the code, spoils the copy, and runs the tests named: a fault that they let pass
lives, and is named. A fault whose lines are no longer in the code is named too.
"""
