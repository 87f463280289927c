"""Checks against the outside world: published examples, another solver's model, optima known by construction."""
