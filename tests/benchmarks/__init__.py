"""How fast and how far: the engine on published and generated sets, beside what a user would reach for instead.

``python -m tests.benchmarks FOLDER`` runs it; nothing here asserts a time, and nothing published is
stored here: the folder of instance files is the caller's.
"""
