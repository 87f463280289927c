"""What runs later: the store in Redis, the queues, the worker that plans, and the local Redis.

Both the API and the workers use the one store kept here. Nothing here knows of requests or
responses; it may import ``solver`` and nothing of ``service``.
"""

PREFIX = "lapstock:"
"""How every key of ours in Redis begins."""
