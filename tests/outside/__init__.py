"""Checks against the outside world: printed examples, another solver's model, optima known by construction."""
