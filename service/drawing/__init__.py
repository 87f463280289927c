"""Drawings of plans in a carpenter's hand: thin lines, dimensions with slashes, hatching, numbers and letters.

A drawing is a list of shapes in millimetres on paper, so that one description serves the page (SVG) and the sheet
(PDF). What is drawn may be any text of a request; nothing here reads a store or knows of HTTP.
"""
