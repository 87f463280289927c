"""Schemas: from a request's JSON to the solver's ``Job``, with every fault found at once."""

from service.wire.job import read_job

__all__ = ["read_job"]
