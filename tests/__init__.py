"""Tests as documents: each says in one line what it proves, on a job small enough to check by hand."""
