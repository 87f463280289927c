"""Closing what column generation leaves open: patterns as paths, most of them proven useless, the rest searched."""
