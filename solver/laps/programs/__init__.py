"""Small jobs decided: whether sticks of given numbers make a plan, everything at once, by CP-SAT."""
