"""The wire: what requests become, and what is answered."""
