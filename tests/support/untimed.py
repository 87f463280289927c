"""Property tests that a slow machine must not fail."""

from __future__ import annotations

from hypothesis import HealthCheck, settings

UNTIMED = settings(deadline=None, max_examples=60, suppress_health_check=(HealthCheck.too_slow,))
"""Decorates a property test: no deadline for an example, nor for making one."""
