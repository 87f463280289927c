"""Crews' weeks as they are kept in Redis, and the nights in which they are planned."""
