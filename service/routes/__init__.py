"""Addresses: what each route takes, documents and answers. What they do is in ``service.plans`` and below."""
