"""What is left of a plan, and what is still wanted of it."""
