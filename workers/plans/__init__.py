"""Plans as they are kept in Redis: their records, the index by which they are found, and every change in one piece."""
