"""One plan on the page: its order and drawings, what is made of it, and what has become of it."""
