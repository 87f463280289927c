"""Paper: the order as CSV, the cut sheet as HTML and PDF, and drawings, all made from one finished plan.

A sheet is put together once as pages of plain blocks (``pages``, ``blocks``); what writes HTML or PDF knows
blocks and nothing of plans, so both always say the same.
"""
