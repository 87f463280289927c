"""A crew's week for its foreman: begun, filled with jobs, planned, and reported in the evening; no JSON anywhere."""
