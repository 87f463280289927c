"""One part at a time, by hand-checkable examples."""
