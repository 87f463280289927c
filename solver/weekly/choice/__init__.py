"""Which timed patterns are cut, and a few sticks at a time cut anew."""
